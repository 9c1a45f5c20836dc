"""Alternators on the bank itself, and packs that may disconnect under them.

A management board that cuts a pack off while the alternator charges it leaves the alternator
without a load: the voltage jumps (load dump) and can destroy its diodes and regulator, and
whatever else is on (ISO 16750-2 describes the pulse; from memory). Lead-acid does not disconnect.
"""

from collections.abc import Iterable

from tco.bank.arrangements import Arrangement
from tco.bank.checks.check import Check, plain_check
from tco.bank.wiring.external_management import can_disconnect
from tco.case import Case


def check_alternators(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    """Caution for every alternator that charges directly a pack that may disconnect.

    One for each engine charger that is `direct`: a pass where nothing can disconnect the bank.
    """
    exposed = needs_alternator_protection(case, arrangement)
    for source in case.sources.engine:
        if not source.direct:
            continue
        if source.name not in exposed:
            name = arrangement.pack.chemistry.family_name
            yield plain_check(
                "alternator", "pass", f"{name} stays connected while it charges", of=source.name
            )
            continue
        yield plain_check(
            "alternator",
            "caution",
            f"{source.name} charges the bank directly: a pack that disconnects leaves it without a "
            "load, and the jump in voltage can destroy it; protection is in the wiring bill, a "
            "DC-DC charger between is the other way; follow the makers of alternator and pack",
            of=source.name,
        )


def needs_alternator_protection(case: Case, arrangement: Arrangement) -> tuple[str, ...]:
    """Names of alternators that charge directly and would see a pack disconnect under load.

    The load dump can destroy the alternator's diodes and regulator, and spike the whole system.
    """
    if not can_disconnect(case, arrangement):
        return ()
    return tuple(source.name for source in case.sources.engine if source.direct)
