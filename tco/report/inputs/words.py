"""What was typed, in a sentence: the need, the offers, the terms; and what looks doubtful."""

from tco.bank.budget import capacity_needed_wh
from tco.bank.cold import design_temperature_degc
from tco.case import Case
from tco.case.plausibility import case_doubts
from tco.case.prices import Prices
from tco.case.times import MONTHS
from tco.compare import Comparison
from tco.physics.chemistry import CHEMISTRIES, Datum
from tco.report.frames import words
from tco.report.shown_units import temperature
from tco.sentences import says


def need(comparison: Comparison) -> str:
    """What a day in the worst month needs, and what capacity that asks for."""
    case, budget = comparison.case, comparison.budget
    month = budget.worst_month
    daily = float(budget.daily_wh[month])
    if daily <= 0:
        return "Nothing draws power yet: add a load with its watts and hours a day."
    assumptions = case.assumptions
    volts = case.system.nominal_voltage_v
    degc = temperature(design_temperature_degc(case, month), case.units)

    def asked(health: float) -> str:
        usable_wh = capacity_needed_wh(
            daily, autonomy_days=assumptions.autonomy_days, usable_depth=1.0, health=health
        )
        return (
            f"{usable_wh / 1000:.1f} kWh usable ({usable_wh / volts:,.0f} Ah at {volts} V) where "
            f"it is replaced at {health:.0%} health"
        )

    chemistries = [CHEMISTRIES[candidate.chemistry] for candidate in case.candidates]
    ends = dict.fromkeys(map(assumptions.end_of_life_of, chemistries))
    ends = ends or {assumptions.end_of_life_health: None}
    return (
        f"A day in {MONTHS[month]} takes {daily / 1000:.2f} kWh from the battery. To last "
        f"{assumptions.autonomy_days:g} days without charging even at the end of its life, at "
        f"{degc} in its space, a bank holds when new {' or '.join(map(asked, ends))}."
    )


def offers(comparison: Comparison, *, left_out: int = 0) -> str:
    """How many candidates there are, how much of them is assumed, how many look doubtful.

    `left_out`: so many are left out for now.
    """
    case = comparison.case
    count = len(case.candidates)
    if not count and left_out:
        return (
            "The one candidate is left out for now: take it in again below, or add another."
            if left_out == 1
            else f"All {left_out} candidates are left out for now: take one in again below."
        )
    if not count:
        return "No candidate yet: type one below, or load a shop's table."
    doubtful = len({row["Candidate"] for row in doubt_rows(case)})
    gaps: dict[str, int] = {}
    for result in comparison.results:
        gaps[result.arrangement.pack.name] = len(result.arrangement.pack.assumed)
    return (
        f"{count} candidate{'s' * (count != 1)} make{'s' * (count == 1)} "
        f"{len(comparison.results)} arrangements; {sum(gaps.values())} values are not stated and "
        f"therefore assumed, and {doubtful} {'makes' if doubtful == 1 else 'make'} a claim worth "
        "a second look."
    )


def terms(comparison: Comparison) -> str:
    """What money and time the answer rests on, and how much of it is still a planning figure."""
    case = comparison.case
    prices, assumptions = case.prices, case.assumptions
    stated = prices.model_fields_set
    planned = [name for name in Prices.model_fields if name not in stated]
    return (
        f"The answer compares {assumptions.horizon_years:g} years at {prices.discount_rate:.1%} "
        f"interest and {prices.inflation:.1%} inflation, and believes "
        f"{assumptions.credibility:.0%} of the rated cycles and years; {len(planned)} of "
        f"{len(Prices.model_fields)} prices are still our planning figures."
    )


def doubt_rows(case: Case) -> list[dict[str, str]]:
    """Every doubt about a candidate, one row each."""
    found = (doubt for doubt in case_doubts(case) if doubt.location[0] == "candidates")
    return [
        {
            "Candidate": case.candidates[place].name,
            "Worth a second look": words(doubt.sentence, case.units),
        }
        for doubt in found
        if isinstance(place := doubt.location[1], int)
    ]


def assumed_words(datum: Datum) -> str:
    """A value that was not stated, and where it comes from; of a feature only the latter."""
    if isinstance(datum.value, bool):
        return datum.source
    return says(f"{datum.value:g}: ", datum.source)
