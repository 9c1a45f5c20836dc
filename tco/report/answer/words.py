"""The sentence that answers the question, and the caution that goes with it."""

from tco.bank.wiring.wiring import CAUTION as WIRING_CAUTION
from tco.case.words import money
from tco.compare import Comparison
from tco.life.health import EndsBy
from tco.money.risk import band
from tco.report.words import count, years
from tco.result import Result
from tco.sentences import Quantity, joined, says
from tco.weighing.arguments import share_words

CAUTION = says(
    f"{WIRING_CAUTION} Never charge lithium cells below the maker's lowest charging temperature "
    "(usually ",
    Quantity(0.0, "degC", both=True),
    "): it harms them for good and can make them unsafe. Lift heavy packs with two people or a "
    "hoist, and follow your local lifting guidance.",
)
"""What stands below every answer."""

LASTS_UNTIL: dict[EndsBy | None, str] = {
    "wear": ", until it is worn",
    "need": ", until it no longer carries the hard weeks",
    "age": ", as long as any bank is taken to",
    None: "",
}
"""What ends a bank, after how long it lasts."""

NO_CANDIDATE = "There is no candidate yet: add at least one pack with its volts, Ah and price."
"""What is said where there is nothing to choose from."""


def answer(comparison: Comparison) -> str:
    """Which arrangement to buy, what it costs, what comes next, how many pass; or why none does.

    With draws, also whether they bear it out.
    """
    results = comparison.results
    if not results:
        return NO_CANDIDATE
    best = comparison.best
    if best is None:
        return _none_passes(results)
    passing = [result for result in results if result.feasible]
    sentences = [
        _buy(comparison, best),
        _in_the_draws(comparison, best, passing[1:]),
        _how_many_pass(results),
        _next(comparison, best, passing[1]) if len(passing) > 1 else "",
    ]
    return " ".join(filter(None, sentences))


def _buy(comparison: Comparison, best: Result) -> str:
    case, life = comparison.case, best.life
    currency = case.prices.currency
    cost = money(best.measures.total_cost, currency)
    per_kwh = best.measures.cost_per_kwh
    each = "" if per_kwh is None else f" ({money(per_kwh, currency, digits=2)} per kWh drawn)"
    unknown = _unknown(best)
    proviso = f", once the maker has confirmed what is not stated ({unknown})" if unknown else ""
    times = len(life.replacements)
    lasts = f"it should last {years(life.first_life_years)} here" + LASTS_UNTIL[life.first_ends_by]
    if times:
        again = "once" if times == 1 else f"{times} times"
        lasts += f", so buying it again {again} is in that sum"
    if best.arrangement.pack.block is not None:
        proviso += ", bare cells to be built into a battery by somebody trained in it"
    return (
        f"Buy {best.arrangement.label}{proviso}: {best.arrangement.usable_wh / 1000:.1f} kWh "
        f"usable, {cost} over {count(case.assumptions.horizon_years, 'year')} in present value"
        f"{each}; {lasts}."
    )


def _in_the_draws(comparison: Comparison, best: Result, others: list[Result]) -> str:
    """Whether the draws bear the choice out; empty without draws, or with nothing to choose.

    It is held against the other of least mean. A lead within twice its standard error is none, as
    in `tco.weighing.arguments.verdict`.
    """
    drawn = [(r, r.costs, r.risk) for r in others if r.costs is not None and r.risk is not None]
    if best.costs is None or best.risk is None or not drawn:
        return ""
    if best.costs.size == 1:
        return "One draw does not say how firm that is."
    rival, costs, risk = min(drawn, key=lambda of: float(of[1].mean()))
    label = rival.arrangement.label
    if not rival.screening.verified:
        label += " (something of it is not stated)"
    ahead = band(costs - best.costs)
    own, its = share_words(best.risk.probability_cheapest), share_words(risk.probability_cheapest)
    draws = f"{best.costs.size:,} draws of everything uncertain"
    amount = money(abs(ahead.mean), comparison.case.prices.currency)
    if abs(ahead.mean) <= 2.0 * ahead.standard_error:
        return (
            f"But {draws} put it level with {label}: it is cheapest in {own} of them, the other in "
            f"{its}."
        )
    if ahead.mean < 0.0:
        return (
            f"But {draws} do not bear that out: on average {label} costs {amount} less; it is "
            f"cheapest in {its} of them, {best.arrangement.label} in {own}."
        )
    oftenest, _, often = max(drawn, key=lambda of: of[2].probability_cheapest)
    if often.probability_cheapest > best.risk.probability_cheapest:
        return (
            f"In {draws} too it costs least on average, {amount} less than {label}, but it is "
            f"cheapest in {own} of them and {oftenest.arrangement.label} in "
            f"{share_words(often.probability_cheapest)}."
        )
    return (
        f"{draws} bear that out: it costs least on average, {amount} less than {label}, and is "
        f"cheapest in {own} of them."
    )


def _unknown(result: Result) -> str:
    return "; ".join(c.requirement for c in result.screening.checks if c.verdict == "unknown")


def _how_many_pass(results: tuple[Result, ...]) -> str:
    verified = sum(result.screening.verified for result in results)
    open_ones = sum(result.feasible and not result.screening.verified for result in results)
    verb = "meets" if verified == 1 else "meet"
    sentence = f"Of {count(len(results), 'arrangement')}, {verified} {verb} every requirement"
    if open_ones:
        sentence += f" and {open_ones} more may, where the shop leaves something open"
    return sentence + "."


def _next(comparison: Comparison, best: Result, second: Result) -> str:
    more = second.measures.total_cost - best.measures.total_cost
    amount = money(abs(more), comparison.case.prices.currency)
    words = f"{amount} {'dearer' if more >= 0 else 'cheaper'}"
    unknown = _unknown(second)
    if unknown:
        words += f", but what is not stated must be asked first ({unknown})"
    return f"Next comes {second.arrangement.label}, {words}."


def _none_passes(results: tuple[Result, ...]) -> str:
    nearest = results[0]
    start = (
        f"The only arrangement, {nearest.arrangement.label}, does not meet every requirement. "
        "It fails on "
        if len(results) == 1
        else f"None of the {len(results)} arrangements meets every requirement. The nearest, "
        f"{nearest.arrangement.label}, fails on "
    )
    reasons = joined(
        "; ",
        (
            says(f"{check.requirement} (", check.reason, ")")
            for check in nearest.screening.failures()
        ),
    )
    return says(start, reasons, ".")
