"""A comparison as plain text, no line wider than 100 columns."""

from collections.abc import Iterable, Mapping, Sequence

from tco.bank.cautions import cautions
from tco.bank.checks.check import Check
from tco.case import Case
from tco.case.plausibility import double_price_doubts
from tco.case.words import money
from tco.columns import ANY_LOAD_SHORT, COLUMNS, NO_POWER, NO_POWER_MEANS, Column, Row
from tco.compare import Comparison
from tco.forms.entry import Units
from tco.life.outlook import YearsAhead
from tco.life.records import bought_wh
from tco.money.ledger import LedgerRow
from tco.report.answer.frames import unit_of
from tco.report.answer.untried import untried
from tco.report.answer.words import CAUTION, NO_CANDIDATE, answer
from tco.report.failures.words import warranty_words
from tco.report.inputs.words import assumed_words
from tco.report.lines import UNBROKEN, WIDTH, as_text, wrapped
from tco.report.money.words import (
    CONSTANT,
    PAID,
    PRESENT,
    annual_words,
    by_item,
    conventions,
    reason_over_the_years,
)
from tco.report.shown_units import shown
from tco.report.wiring.block import block_lines
from tco.report.wiring.commissioning import CAUTION as SERVICE_CAUTION
from tco.report.wiring.commissioning import commissioning_lines
from tco.report.words import count, years
from tco.report.years.first_bank import health_by_year
from tco.report.years.two_models import second_of, second_sentence
from tco.report.years.words import NO_HABIT, habit_words, outage_words, weather_words
from tco.result import Result
from tco.sentences import told
from tco.weighing.arguments import Argument, share_words
from tco.weighing.convergence import Convergence, convergence

_SHORTEST_LABEL = 16
_VERDICTS = ("fail", "unknown", "caution", "pass")


def comparison_text(
    comparison: Comparison,
    *,
    show: int | None = None,
    argued: Sequence[Argument] = (),
    known: Convergence | None = None,
) -> str:
    """The answer, the ranked table, and what rules out the others.

    Parameters
    ----------
    show
        How many arrangements to list, from the first in rank; all where None.
    argued
        Arguments to print after the table.
    known
        How well the draws know the answer, where they were raised until it held still.
    """
    listed = list(enumerate(comparison.results, start=1))[:show]
    passing = [(rank, result) for rank, result in listed if result.feasible]
    ruled_out = [(rank, result) for rank, result in listed if not result.feasible]
    lines = [*wrapped(told(answer(comparison), comparison.case.units)), ""]
    if passing:
        lines += [*_table(comparison, passing), ""]
        if passing[0][1].risk is not None:
            lines += [*_risks(comparison, passing, known), ""]
    for argument in argued:
        lines += [*wrapped(argument.answer), *_what_would_change(argument), ""]
    if ruled_out:
        lines += ["Ruled out, with the requirements they fail on:", *_ruled_out(ruled_out), ""]
    rest = len(comparison.results) - len(listed)
    if rest:
        lines += [f"Not shown: {count(rest, 'more arrangement')}.", ""]
    if beyond := untried(comparison):
        lines += [*wrapped(beyond), ""]
    for doubt in double_price_doubts(comparison.case.prices):
        lines += [*wrapped(doubt), ""]
    return as_text([*lines, *wrapped(told(CAUTION, comparison.case.units))])


def _risks(
    comparison: Comparison, passing: list[tuple[int, Result]], known: Convergence | None
) -> list[str]:
    """What the draws say of those that pass, and how well they know it."""
    currency = comparison.case.prices.currency
    heads = ("1 in 10 below", "middle", "1 in 10 above", "cheapest in", "mean regret")
    rows = [["#", "arrangement", *heads]]
    for rank, result in passing:
        risk = result.risk
        if risk is None:
            continue
        rows.append(
            [
                str(rank),
                result.arrangement.label,
                f"{risk.band.p10:,.0f}",
                f"{risk.band.p50:,.0f}",
                f"{risk.band.p90:,.0f}",
                share_words(risk.probability_cheapest),
                f"{risk.expected_regret:,.0f}",
            ]
        )
    known = known or convergence(comparison)
    drawn = 0 if known is None else known.draws
    return [
        f"In {drawn:,} draw{'' if drawn == 1 else 's'} of everything uncertain, total cost in "
        f"{currency}:",
        *_columns(rows),
        *(wrapped(_how_well(known, currency)) if known is not None else ()),
    ]


def _how_well(known: Convergence, currency: str) -> str:
    if known.draws == 1:
        return "One draw says nothing of how far the next may be from it."
    text = (
        f"The least mean, that of {known.best}, is {money(known.mean, currency)}, known to "
        f"±{money(known.mean_error, currency, digits=1)} (standard error)"
    )
    if known.difference_error > 0:
        text += (
            f"; what it is ahead of the next by, to "
            f"±{money(known.difference_error, currency, digits=1)}"
        )
    text += "."
    if known.reason is not None and known.target is not None:
        wanted = f"the ±{money(known.target, currency, digits=1)} asked for"
        text += {
            "settled": f" The draws were doubled until both were within {wanted}.",
            "most draws": f" That is not {wanted}, but the most draws that are allowed.",
            "stopped": f" That is not {wanted}: it was stopped.",
            "nothing to choose": "",
        }[known.reason]
    return text


def _what_would_change(argument: Argument) -> list[str]:
    """Break-evens that the answer does not tell yet; those that are none, in one sentence."""
    told = argument.break_even[:1] if argument.answer_tells_first else ()
    crossing = [row for row in argument.break_even if row.at is not None and row not in told]
    never = [row for row in argument.break_even if row.at is None]
    lines = []
    for row in crossing:
        lines += wrapped(row.sentence, indent=2, hang=2, first="  - ")
    for side in dict.fromkeys((row.cheaper_below, row.cheaper_above) for row in never):
        rows = [row for row in never if (row.cheaper_below, row.cheaper_above) == side]
        if len(rows) == 1:
            text = rows[0].sentence
        else:
            ranges = "; ".join(f"{row.of} ({row.range_in_words})" for row in rows)
            text = f"No break-even, {side[0]} is cheaper over the whole range: {ranges}."
        lines += wrapped(text, indent=2, hang=2, first="  - ")
    return lines


def arrangement_text(
    comparison: Comparison, result: Result, ahead: YearsAhead | None = None
) -> str:
    """Everything about one arrangement: checks, wiring bill, year, health, ledger, assumptions.

    With `ahead` also power failures, their cure and habits, as `Comparison.years_ahead` finds them.
    """
    case = comparison.case
    rank = comparison.results.index(result) + 1
    state = "meets every requirement" if result.screening.verified else (
        "fails nothing, but something is not stated" if result.feasible else "is ruled out"
    )  # fmt: skip
    life = years(result.life.first_life_years)
    total = money(result.measures.total_cost, case.prices.currency)
    horizon = count(case.assumptions.horizon_years, "year")
    lines = wrapped(
        f"{result.arrangement.label}, rank {rank} of {len(comparison.results)}, {state}. "
        f"{total} over {horizon} (present value); lasts {life} here. "
        f"{annual_words(result.measures, case.prices)}"
    )
    lines += ["", "Requirements", *_checks(result.screening.checks, units=case.units)]
    if result.arrangement.pack.block is not None:
        lines += ["", f"Cells and what makes blocks of them, in {case.prices.currency} without tax"]
        lines += block_lines(result.arrangement)
    lines += ["", f"Wiring, in {case.prices.currency} without tax"]
    lines += _bill(result, units=case.units)
    lines += ["", "Before you build it"]
    for one in cautions(case, result.arrangement):
        lines += wrapped(one.sentence, indent=2)
    lines += _commissioning(case, result)
    lines += ["", "A mean year with a new bank", *_year(result)]
    if ahead is not None:
        lines += _ahead(ahead, units=case.units)
    lines += ["", "Health of the first bank at the end of each year", *_health(result)]
    second = second_of(result)
    if second is not None:
        lines += ["", *wrapped(second_sentence(result, second), indent=2)]
        lines += wrapped(second.includes, indent=2)
    lines += ["", f"Ledger over {horizon}, in {case.prices.currency}"]
    for words in conventions(case):
        lines += wrapped(words, indent=2)
    lines += _ledger(result, units=case.units)
    lines += ["", "Warranty"]
    lines += wrapped(told(warranty_words(result, case), case.units), indent=2)
    assumed = result.arrangement.pack.assumed
    if assumed:
        lines += ["", "Not stated by the shop, so assumed"]
        for name, datum in assumed.items():
            lines += wrapped(f"{name}: {told(assumed_words(datum), case.units)}", indent=2)
    return as_text([*lines, "", *wrapped(told(CAUTION, case.units))])


def find(comparison: Comparison, wanted: str) -> Result:
    """The arrangement with a rank, a label, or the only one with this text in its label.

    Case, blanks and `x` for `×` do not matter.

    Raises
    ------
    LookupError
        Where none or several are meant; the message names some of them.
    """
    results = comparison.results
    if not results:
        raise LookupError(NO_CANDIDATE)
    if wanted.strip().isdecimal():
        rank = int(wanted)
        if not 1 <= rank <= len(results):
            raise LookupError(f"there is no rank {rank}; ranks run from 1 to {len(results)}")
        return results[rank - 1]

    def folded(text: str) -> str:
        return " ".join(text.replace("×", " x ").casefold().split())

    plain = folded(wanted)
    labels = [folded(result.arrangement.label) for result in results]
    if plain in labels:
        return results[labels.index(plain)]
    found = [result for label, result in zip(labels, results, strict=True) if plain in label]
    if len(found) == 1:
        return found[0]
    if not found:
        raise LookupError(f"no arrangement is called {wanted!r}; take its rank from the table")
    some = ", ".join(result.arrangement.label for result in found[:4])
    more = f" and {len(found) - 4} more" if len(found) > 4 else ""
    raise LookupError(f"{wanted!r} may mean {some}{more}; give the whole name or the rank")


def _shortened(label: str, width: int) -> str:
    """A label that is too long loses its middle, so that number and layout stay."""
    if len(label) <= width:
        return label
    tail = min(label[::-1].find("(") + 2, width // 2)
    return f"{label[: width - tail - 1]}…{label[-tail:]}"


def _columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """Lines of a table: the second column to the left and as wide as there is room for."""
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    others = sum(widths) - widths[1] + 2 * (len(widths) - 1)
    widths[1] = min(widths[1], max(WIDTH - others, _SHORTEST_LABEL))
    return [
        "  ".join(
            _shortened(cell, width).ljust(width) if n == 1 else cell.rjust(width)
            for n, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        for row in rows
    ]


def _table(comparison: Comparison, ranked: Sequence[tuple[int, Result]]) -> list[str]:
    columns = [column for column in COLUMNS if column.terminal]
    rows = [
        [column.terminal or "" for column in columns],
        [unit_of(column, comparison) for column in columns],
        *([_cell(column, Row(*row), comparison) for column in columns] for row in ranked),
    ]
    lines = _columns(rows)
    horizon = count(comparison.case.assumptions.horizon_years, "year")
    notes = (
        f"To buy: with freight, wiring, labour, tax. In all: {horizon}, present value. A year: "
        "the level yearly amount worth the same, paid at each year's end in the money of that year "
        f"(nominal). A kWh: per kWh drawn from the bank. {NO_POWER}: {NO_POWER_MEANS} with a "
        "new bank."
    )
    unknown = [result for _, result in ranked if not result.screening.verified]
    if unknown:
        names = dict.fromkeys(
            check.requirement
            for result in unknown
            for check in result.screening.checks
            if check.verdict == "unknown"
        )
        notes += f" ?: something is not stated ({'; '.join(names)})."
    return [*lines, "", *wrapped(notes)]


def _cell(column: Column, row: Row, comparison: Comparison) -> str:
    value = column.value(row)
    if column.key == "arrangement":
        return value if row.result.screening.verified else f"? {value}"
    if not column.unit:
        return str(value)
    if value is None:
        return "-" if column.beyond is None else f">{column.beyond:g}"
    number = shown(value, column.unit, imperial=comparison.case.units == "imperial")[0]
    digits = 0 if number >= 1000 else column.terminal_digits
    return f"{number:,.{digits}f}"


def _ruled_out(ranked: Sequence[tuple[int, Result]]) -> list[str]:
    width = max(len(str(rank)) for rank, _ in ranked)
    longest = min(max(len(result.arrangement.label) for _, result in ranked), WIDTH // 2)
    lines = []
    for rank, result in ranked:
        label = _shortened(result.arrangement.label, longest)
        start = f"{rank:>{width}}  {label:<{longest}}  "
        names = "; ".join(check.requirement for check in result.screening.failures())
        lines += wrapped(names, indent=len(start), first=start)
    return lines


def _checks(checks: Iterable[Check], *, units: Units) -> list[str]:
    lines = []
    for check in sorted(checks, key=lambda check: _VERDICTS.index(check.verdict)):
        lines += wrapped(
            f"{check.requirement}: {told(check.reason, units)}{_margin(check, units=units)}",
            indent=10,
            first=f"  {check.verdict:<8}",
        )
    return lines


def _margin(check: Check, *, units: Units) -> str:
    if check.margin is None or check.limit is None:
        return ""
    value, unit = shown(check.margin, check.unit, imperial=units == "imperial", difference=True)
    if abs(value) < 0.005:
        return ""
    digits = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    return f" [{value:+,.{digits}f}{UNBROKEN}{unit}]"


def _bill(result: Result, *, units: Units) -> list[str]:
    wiring = result.wiring
    if wiring is None:
        return ["  no cable or fuse serves; see the requirements"]
    rows = []
    for line in wiring.bill:
        quantity, unit = shown(line.quantity, line.unit, imperial=units == "imperial")
        price = line.unit_price * line.quantity / quantity if quantity else line.unit_price
        amount = f"{quantity:,.2f}".rstrip("0").rstrip(".")
        rows.append(["", line.part, f"{amount} {unit}", f"{price:,.2f}", f"{line.cost:,.2f}"])
    rows.append(["", "together", "", "", f"{wiring.cost:,.2f}"])
    return _columns(rows)


def _commissioning(case: Case, result: Result) -> list[str]:
    """The steps of putting it into service, numbered through."""
    lines, before = [], ""
    for number, (stage, step) in enumerate(commissioning_lines(case, result.bank), start=1):
        if stage != before:
            lines += ["", stage]
            before = stage
        lines += wrapped(told(step, case.units), indent=2, hang=4, first=f"  {number:2d} ")
    if lines:
        lines = ["", "Putting it into service", *wrapped(SERVICE_CAUTION, indent=2), *lines]
    return lines


def _year(result: Result) -> list[str]:
    year = result.year
    kwh = {name: year[name] / 1000.0 for name in year if name.endswith("_wh")}
    text = (
        f"{kwh['needed_wh']:,.0f} kWh needed, {kwh['delivered_wh']:,.0f} delivered, "
        f"{kwh['unserved_wh']:,.1f} not served; {NO_POWER.lower()} for "
        f"{result.hours_without_power:,.0f} h (longest {year['longest_gap_hours']:,.0f} h on end; "
        f"with a bank that is worn {result.life.worn_hours_without_power:,.0f} h), "
        f"{ANY_LOAD_SHORT.lower()} for {year['hours_any_load_short']:,.0f} h; "
        f"{bought_wh(year) / 1000:,.0f} kWh bought; {kwh['heater_wh']:,.1f} kWh into heaters; "
        f"charging locked out by cold or heat in {year['locked_out_hours']:,.0f} h, which lost "
        f"{kwh['solar_locked_out_wh']:,.1f} kWh of solar."
    )
    return wrapped(text + _laid_up(year), indent=2)


def _laid_up(year: Mapping[str, float]) -> str:
    """What goes on besides while the system is laid up; empty where nothing does."""
    hours, heater_kwh = year["laid_up_locked_out_hours"], year["laid_up_heater_wh"] / 1000.0
    if hours < 0.5 and heater_kwh < 0.05:
        return ""
    return (
        f" While laid up besides: {heater_kwh:,.1f} kWh into heaters, charging locked out in "
        f"{hours:,.0f} h."
    )


def _ahead(ahead: YearsAhead, *, units: Units) -> list[str]:
    lines = ["", f"Power failures over {count(ahead.new.found.years, 'weather year')}"]
    said = [weather_words(ahead.file_years, ahead.new.found)]
    said += [*outage_words(ahead.new), *outage_words(ahead.worn)]
    for sentence in filter(None, said):
        lines += wrapped(told(sentence, units), indent=2)
    lines += ["", "Habits that would help"]
    habits = habit_words(ahead) or [(NO_HABIT, "")]
    for sentence, caution in habits:
        lines += wrapped(told(sentence, units), indent=2)
        lines += wrapped(told(caution, units), indent=4)
    return lines


def _health(result: Result) -> list[str]:
    return wrapped(", ".join(health_by_year(result.life)), indent=2)


def _ledger(result: Result, *, units: Units) -> list[str]:
    """The ledger by item, each with its reason below it."""
    rows = [["", "item", "times", PAID.lower(), CONSTANT.lower(), PRESENT.lower()]]
    reasons = [""]
    groups = by_item(result.ledger)
    for item, found in groups.items():
        rows.append(["", item, f"{len(found)}", *_sums(found)])
        reasons.append(told(reason_over_the_years(found), units))
    rows.append(["", "together", "", *_sums(result.ledger)])
    reasons.append("")
    lines = []
    for start, reason in zip(_columns(rows), reasons, strict=True):
        lines += [start, *wrapped(reason, indent=6)]
    return lines


def _sums(rows: Sequence[LedgerRow]) -> list[str]:
    kinds = ([r.amount for r in rows], [r.constant for r in rows], [r.present for r in rows])
    return [f"{sum(amounts):,.2f}" for amounts in kinds]
