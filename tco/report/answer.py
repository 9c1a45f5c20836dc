"""The sentence that answers the question."""

from tco.compare import Comparison, Result


def money(amount: float, currency: str, *, digits: int = 0) -> str:
    """An amount with its currency sign, minus first: `-€1,200`."""
    sign = "-" if amount < 0 else ""
    return f"{sign}{currency}{abs(amount):,.{digits}f}"


def years(life_years: float | None) -> str:
    """A life in words, to the precision it deserves."""
    if life_years is None:
        return "more than 40 years"
    if life_years < 3.0:
        return f"{life_years:.1f} years"
    return f"{life_years:.0f} years"


def answer(comparison: Comparison) -> str:
    """Which arrangement to buy, what it costs, what comes next, how many pass; or why none does."""
    results = comparison.results
    if not results:
        return "There is no candidate yet: add at least one pack with its volts, Ah and price."
    best = comparison.best
    if best is None:
        return _none_passes(results)
    case = comparison.case
    currency, horizon = case.prices.currency, case.assumptions.horizon_years
    passing = [result for result in results if result.feasible]
    per_kwh = best.measures.cost_per_kwh
    cost = money(best.measures.total_cost, currency)
    each = f", {money(per_kwh, currency, digits=2)} per kWh from the bank" if per_kwh else ""
    unknown = [c.requirement for c in best.screening.checks if c.verdict == "unknown"]
    proviso = f", provided that what is not stated turns out well ({', '.join(unknown)})"
    sentence = (
        f"Buy {best.arrangement.label}{proviso if unknown else ''}: "
        f"{best.arrangement.usable_wh / 1000:.1f} kWh usable for {cost} in today's money over "
        f"{horizon} years{each}; it should serve {years(best.life.first_life_years)} here."
    )
    if len(passing) > 1:
        second = passing[1]
        more = money(second.measures.total_cost - best.measures.total_cost, currency)
        sentence += f" Next comes {second.arrangement.label}, {more} more."
    return (
        sentence + f" {len(passing)} of {len(results)} arrangements meet every requirement."
        if not unknown
        else sentence
    )


def _none_passes(results: tuple[Result, ...]) -> str:
    nearest = results[0]
    reasons = "; ".join(
        f"{check.requirement}: {check.reason}" for check in nearest.screening.failures()
    )
    return (
        f"None of the {len(results)} arrangements meets every requirement. The nearest, "
        f"{nearest.arrangement.label}, fails on {reasons}."
    )
