"""What the chargers push into a bank against what it takes, and whether they suit its chemistry."""

from collections.abc import Iterable, Sequence

from tco.bank.arrangements import Arrangement
from tco.bank.charging import (
    Source,
    can_be_turned_down,
    charger_current_a,
    charger_suits,
    chargers_together,
    sum_of_currents_a,
    takes_a,
)
from tco.bank.checks.check import Check, Verdict, limit_check, plain_check
from tco.case import Case
from tco.case.words import money


def check_currents(
    case: Case, arrangement: Arrangement, unevenness: float = 1.0
) -> Iterable[Check]:
    """Check each charger's current alone, then of those that may run together.

    A current that can be turned down is a caution. So is a sum that turning down those that can
    be (a solar controller always can) brings within the limit; a sum that stays above it fails.
    """
    can = takes_a(arrangement, unevenness)
    for charger in case.sources.chargers():
        must = charger_current_a(case, charger)
        bad = f"the bank takes only {can:.0f} A; up to {must:.0f} A come from {charger.name}"
        adjustable = can_be_turned_down(charger)
        yield limit_check(
            "charge_current",
            can,
            must,
            "A",
            at_least=True,
            good=f"the bank takes {can:.0f} A; at most {must:.0f} A come from {charger.name}",
            bad=f"{bad}; turn its current down to {can:.0f} A" if adjustable else bad,
            short="caution" if adjustable else "fail",
            of=charger.name,
        )
    together = chargers_together(case)
    if len(together) > 1:
        yield _together(case, can, together)


def _together(case: Case, can: float, together: Sequence[Source]) -> Check:
    must = sum_of_currents_a(case, together)
    names = ", ".join(charger.name for charger in together)
    fixed = 0.0
    for group in (case.sources.engine, case.sources.shore, case.sources.generator):
        stuck = [charger for charger in group if not can_be_turned_down(charger)]
        if len(stuck) > 1:  # one alone has its own check
            fixed = max(fixed, sum_of_currents_a(case, stuck))
    bad = f"the bank takes only {can:.0f} A; {names} together may push {must:.0f} A"
    curable = fixed <= can
    return limit_check(
        "charge_current_together",
        can,
        must,
        "A",
        at_least=True,
        good=f"the bank takes {can:.0f} A; {names} together push at most {must:.0f} A",
        bad=(
            f"{bad}; turn one down, or do not run them at the same time"
            if curable
            else f"{bad}, and {fixed:.0f} A come from chargers that cannot be turned down"
        ),
        short="caution" if curable else "fail",
    )


def check_profiles(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    """Check of each charger that it has a profile for the chemistry, or can be replaced."""
    chemistry = arrangement.pack.chemistry
    volts = arrangement.charging_voltage_v
    for charger in case.sources.chargers():
        if charger_suits(charger, arrangement):
            verdict: Verdict = "pass"
            reason = f"{charger.name} can charge {chemistry.key} (about {volts:.1f} V)"
            if charger.adjustable and not {chemistry.family, chemistry.key} & set(charger.profiles):
                reason += "; set it by the maker's figures"
        elif charger.replacement_price is not None:
            verdict = "caution"
            reason = (
                f"{charger.name} has no {chemistry.family} profile: it is replaced, "
                f"{money(charger.replacement_price, case.prices.currency)} in the ledger"
            )
        else:
            verdict = "fail"
            reason = (
                f"{charger.name} has no {chemistry.family} profile (has "
                f"{', '.join(charger.profiles) or 'none'}) and no replacement price is given"
            )
        yield plain_check("charge_profile", verdict, reason, of=charger.name)
