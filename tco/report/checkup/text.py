"""The judgement of a log of capacity tests as text."""

from tco.checkup.assessment import Assessment
from tco.checkup.cell_balance import Imbalance
from tco.checkup.health_fit import CORRECTION_SHARE, METER_SHARE, HealthFit
from tco.checkup.old_bank import OldBank
from tco.checkup.promise import Promise
from tco.report.checkup.words import (
    CAUTION,
    FAR_YEARS,
    FAULTY_CELL,
    RULE,
    crossing_words,
    doubts,
    share,
    verdict_sentence,
)
from tco.report.lines import as_text, wrapped
from tco.report.shown_units import shown
from tco.sentences import says, told


def promise_text(assessment: Assessment) -> str:
    """The judgement for a practical reader: the verdict first, then why, dates, tests, cells."""
    judged, units = assessment.judged, "imperial" if assessment.imperial else "metric"
    sentences = [verdict_sentence(judged), _today(judged)]
    if isinstance(judged, Promise):
        sentences += [_ahead(judged), _claim(judged), _next_test(judged)]
    else:
        sentences += [RULE, _why_short(judged)]
    sentences += doubts(judged)
    lines = wrapped(f"{assessment.label}, bought {judged.fit.bought}, judged on {judged.today}.")
    for sentence in filter(None, sentences):
        lines += wrapped(told(sentence, units))
    standard = _degrees(25.0, imperial=assessment.imperial)
    lines += ["", f"Tests, corrected to {standard} and the rated current"]
    lines += _table(judged.fit, imperial=assessment.imperial)
    lines += ["", *wrapped(_how_corrected(assessment))]
    if judged.imbalance is not None:
        lines += ["", *wrapped(_cells(judged.imbalance))]
    if assessment.assumed:
        lines += ["", "Assumed"]
        for sentence in assessment.assumed:
            lines += wrapped(told(sentence, units), indent=0, hang=2, first="- ")
    return as_text([*lines, "", *wrapped(CAUTION)])


def _today(judged: Promise | OldBank) -> str:
    now = judged.health_today
    text = (
        f"Health today {share(now.middle)} (8 in 10 sure: {share(now.low)} to "
        f"{share(now.high)}), {now.middle * judged.rated_ah:.0f} of {judged.rated_ah:g} Ah."
    )
    if isinstance(judged, Promise) and judged.forecast_today is not None:
        expected = judged.forecast_today
        side = (
            "worse than" if expected > now.high else "better than" if expected < now.low else "near"
        )
        text += f" That is {side} the {share(expected)} simulated for your use."
    return text


def _why_short(old: OldBank) -> str:
    """What was tried on a new bank of that size, where even that leaves loads short."""
    if old.need is None or not old.need.weak.hours_with:
        return ""
    return says("With a new bank of that size: ", old.need.weak.reason)


def _ahead(promise: Promise) -> str:
    bought, limit = promise.fit.bought, share(promise.threshold)
    median = promise.crossing[1]
    if median == bought:
        return f"Health was most likely below {limit} from the beginning."
    early, middle, late = (crossing_words(day, bought=bought) for day in promise.crossing)
    if middle is None or median is None:
        text = f"Health will most likely stay above {limit} for {FAR_YEARS:g} years and more"
    elif median <= promise.today:
        text = f"Health most likely fell below {limit} about {middle}"
    else:
        text = f"Health will most likely fall below {limit} about {middle}"
    text += f"; one chance in ten before {early}" if early is not None else ""
    if middle is not None:
        text += f", one in ten {f'later than {late}' if late else f'not in {FAR_YEARS:g} years'}"
    text += "."
    end = promise.health_at_end
    if end is not None:
        text += (
            f" At the end of the warranty: {share(end.middle)} ({share(end.low)} to "
            f"{share(end.high)})."
        )
    return text


def _claim(promise: Promise) -> str:
    last = promise.last_claim_day
    dates = (
        f"Last day to claim: {last}, {promise.notice_days} days before the warranty of "
        f"{promise.warranty_years:g} years ends on {promise.warranty_end}."
    )
    spent = last is not None and promise.today > last
    uneven = promise.imbalance is not None and bool(promise.imbalance.caution)
    fault = f" {FAULTY_CELL}" if uneven and promise.claim not in ("lapsed", "no warranty") else ""
    said = {
        "claim now": f"Claim now{', the days of notice are spent' if spent else ''}: health is "
        f"more likely than not below the warranty's {share(promise.threshold)}. {dates}",
        "test before it lapses": f"Not due yet, but it may fall due before the warranty lapses: "
        f"keep the log and test again in time. {dates}",
        "not due": "By its capacity no claim is due, nor likely to fall due before the warranty "
        f"lapses. {dates}",
        "lapsed": f"The warranty ended on {promise.warranty_end}; it is too late to claim.",
        "no warranty": "",
    }[promise.claim]
    return said + fault


def _next_test(promise: Promise) -> str:
    if promise.next_test <= promise.today:
        return "The next test is due now."
    return f"Test again by {promise.next_test}."


def _table(fit: HealthFit, *, imperial: bool) -> list[str]:
    unit = shown(0.0, "degC", imperial=imperial)[1]
    lines = [
        f"  {'date':<10} {'measured':>11} {unit:>5} {'A':>5} "
        f"{'corrected':>11} {'health':>7} {'+-':>5}"
    ]
    for test in fit.tests:
        degrees = "?"
        if test.temperature_degc is not None:
            degrees = f"{shown(test.temperature_degc, 'degC', imperial=imperial)[0]:.0f}"
        amps = "?" if test.current_a is None else f"{test.current_a:g}"
        lines.append(
            f"  {test.tested_on} {test.measured_ah:>8.1f} Ah {degrees:>5} {amps:>5} "
            f"{test.corrected_ah:>8.1f} Ah {test.health:>7.1%} {test.uncertainty:>5.1%}"
        )
    return lines


def _how_corrected(assessment: Assessment) -> str:
    chemistry = assessment.chemistry
    how = (
        "Temperature by IEEE 485 (from memory)"
        if chemistry.ieee485
        else (
            f"Temperature by the curve of {chemistry.name} ({chemistry.capacity_source}), in the "
            f"cold less of it at a small current ({chemistry.cold_slow_share.source})"
        )
    )
    if chemistry.peukert_exponent.value > 1.0:
        how += ", current by Peukert's law"
    else:
        how += "; the current is not corrected for else, since it matters little to this chemistry"
    units = "imperial" if assessment.imperial else "metric"
    unknown = {told(one, units) for test in assessment.judged.fit.tests for one in test.assumed}
    return (
        f"{how}. +- is the standard uncertainty: meter {METER_SHARE:.0%}, repetition, and "
        f"{CORRECTION_SHARE:.0%} of each correction (assumptions). The nearer a test is to "
        f"{_degrees(25.0, imperial=assessment.imperial)}, the surer."
        + "".join(f" {text[0].upper()}{text[1:]}." for text in sorted(unknown))
    )


def _cells(found: Imbalance) -> str:
    what = "Blocks" if found.cells_per_block > 1 else "Cells"
    spread = ", ".join(
        f"{mv:.0f} mV ({day})" for mv, day in zip(found.spread_mv, found.tested_on, strict=True)
    )
    text = f"{what}, highest less lowest: {spread}"
    if found.growth_mv_per_year is not None:
        text += f"; {found.growth_mv_per_year:+.0f} mV a year"
    text += f". Lowest is number {found.lowest_cell}"
    text += ", as in every test." if found.always_lowest else "."
    if found.caution:
        text += f" Look closer: {found.caution}."
    return text


def _degrees(temperature_degc: float, *, imperial: bool) -> str:
    value, unit = shown(temperature_degc, "degC", imperial=imperial)
    return f"{value:.0f} {unit}"
