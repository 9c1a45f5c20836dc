"""Alternators on the bank itself, and packs that may disconnect under them.

A management board that cuts a pack off while the alternator charges it leaves the alternator
without a load: the voltage jumps (load dump) and can destroy its diodes and regulator, and
whatever else is on (ISO 16750-2 describes the pulse; from memory). Lead-acid does not disconnect.
A bank of low resistance also keeps an alternator at full current for hours, which few are made for.
"""

from collections.abc import Iterable

from tco.bank.arrangements import Arrangement
from tco.bank.charging import takes_a
from tco.bank.checks.check import Check, plain_check
from tco.bank.wiring.external_management import can_disconnect
from tco.case import Case

TAKES_ALL_UP_TO = 0.85
"""A bank that takes the full current up to this charge works an alternator at its limit for hours;
lead-acid takes less and less from some 80 %. Our choice between the two."""


def check_alternators(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    """Caution for every alternator that charges directly what may disconnect or overheat it.

    One for each engine charger that is `direct`: a pass where nothing can disconnect the bank and
    its chemistry limits the current by itself.
    """
    exposed = needs_alternator_protection(case, arrangement)
    chemistry = arrangement.pack.chemistry
    name = chemistry.family_name
    for source in case.sources.engine:
        if not source.direct:
            continue
        told = []
        if source.name in exposed:
            told.append(
                "a pack that disconnects leaves it without a load, and the jump in voltage can "
                "destroy it; protection is in the wiring bill"
            )
        if chemistry.taper_from_soc >= TAKES_ALL_UP_TO:
            asked = min(source.rating_a, takes_a(arrangement))
            told.append(
                f"{name} takes all it gives ({asked:.0f} A) until nearly full, and an alternator "
                "at full current overheats within minutes to hours, soonest at idle: it needs a "
                "regulator that senses its temperature or is set well below its rating"
            )
        if not told:
            yield plain_check(
                "alternator",
                "pass",
                f"{name} stays connected while it charges, and takes less the fuller it is",
                of=source.name,
            )
            continue
        yield plain_check(
            "alternator",
            "caution",
            f"{source.name} charges the bank directly: {'; '.join(told)}. A DC-DC charger between "
            "is the other way; follow the makers of alternator and pack",
            of=source.name,
        )


def needs_alternator_protection(case: Case, arrangement: Arrangement) -> tuple[str, ...]:
    """Names of alternators that charge directly and would see a pack disconnect under load.

    The load dump can destroy the alternator's diodes and regulator, and spike the whole system.
    """
    if not can_disconnect(case, arrangement):
        return ()
    return tuple(source.name for source in case.sources.engine if source.direct)
