"""What hangs on the distribution: inverter, fuse block, loads with their own cable, chargers."""

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charger_current_a, chargers_to_replace
from tco.bank.wiring.feeds import loads_of_their_own
from tco.case import Case
from tco.case.parts import FUSE_BLOCK


def consumers(case: Case, arrangement: Arrangement) -> list[tuple[str, str, str]]:
    """Key on the drawing, name and a few words of each, in the order of their branches."""
    found = []
    inverter = case.system.inverter
    if inverter is not None:
        words = f"{inverter.continuous_w:g} W, surge {inverter.surge_rating_w:g} W"
        found.append(("inverter", inverter.name, words))
    own = loads_of_their_own(case)
    if any(load.via == "dc" and load not in own for load in case.loads):
        found.append(("fuse block", FUSE_BLOCK, "a fuse for every circuit, in place"))
    found += [(f"load {load.name}", load.name, "its own cable, in place") for load in own]
    replaced = {name for name, _ in chargers_to_replace(case, arrangement)}
    for charger in case.sources.chargers():
        amps = charger_current_a(case, charger)
        state = "replaced" if charger.name in replaced else "in place"
        found.append((f"source {charger.name}", charger.name, f"up to {amps:.0f} A, {state}"))
    return found
