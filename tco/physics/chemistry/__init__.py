"""Battery chemistries: what a datasheet leaves out, and how each behaves with cold and use.

One entry each, in the module of its family; nothing else lists them. See `entry` for what an entry
says and for the sources it names.
"""

from collections.abc import Mapping
from types import MappingProxyType

from tco.physics.chemistry.entry import Chemistry as Chemistry
from tco.physics.chemistry.entry import Datum as Datum
from tco.physics.chemistry.entry import Family as Family
from tco.physics.chemistry.lead import LEAD
from tco.physics.chemistry.lithium import LITHIUM
from tco.physics.chemistry.sodium import SODIUM

CHEMISTRIES: Mapping[str, Chemistry] = MappingProxyType(
    {c.key: c for c in (*LITHIUM, *SODIUM, *LEAD)}
)
"""Every chemistry the tool knows, by key."""
