"""The years ahead: worst weeks, outages and their cure, the cold, health, and habits."""

from collections.abc import Callable
from typing import TypeVar

import pandas as pd
import streamlit as st

from tco.case import Case
from tco.case.units import from_canonical
from tco.compare import Comparison
from tco.life.habits import habits
from tco.life.outages import Outages, many_years, too_few_years
from tco.life.outlook import Outlook, outlook
from tco.life.year import trace
from tco.report import frames
from tco.report.answer.words import CAUTION
from tco.report.words import count, literal
from tco.report.years import charts, outage_charts, outage_frames
from tco.report.years import frames as year_frames
from tco.report.years import words as ahead
from tco.report.years.first_bank import resistance_sentence
from tco.report.years.two_models import second_of, second_sentence
from tco.result import Result
from tco.screens import bar, parts, state
from tco.screens.state import Workspace

NEW, WORN = "New", "Worn"

T = TypeVar("T")


def main() -> None:
    """Draw the screen."""
    held = bar.top("years")
    comparison = state.comparison_of(held)
    parts.troubles(held)
    if not comparison.results:
        parts.sentence("No years to look at yet: add at least one candidate.")
        parts.nothing_yet()
        return
    top = st.container()
    which, age, _ = st.columns([2, 1.2, 1], vertical_alignment="bottom")
    result = parts.arrangement(held, comparison, place=which)
    state_of = age.segmented_control(
        "The bank is", (NEW, WORN), default=NEW, key="bank age", label_visibility="collapsed"
    )
    worn = comparison.worn_health(result)
    health, other_health = (worn, 1.0) if state_of == WORN else (1.0, worn)
    case, bank, arrangement = comparison.case, result.bank, result.arrangement

    def once(what: str, work: Callable[[], T], *, large: bool = False) -> T:
        return state.remembered(
            held, what, arrangement.label, int(1000 * health),
            work=work, saying="Years of weather…", large=large,
        )  # fmt: skip

    weather = state.remembered(held, "weather", work=lambda: many_years(case), large=True)

    def looked_ahead(at: float) -> Outlook:
        return state.remembered(
            held, "outlook", arrangement.label, int(1000 * at),
            work=lambda: outlook(
                case, bank, weather, health=at, by_age=result.life.by_age
            ),
            saying="Looking for what goes short and what would cure it…",
        )  # fmt: skip

    chosen, other = looked_ahead(health), looked_ahead(other_health)
    found = chosen.found
    with top:
        parts.sentence(ahead.opening(result, chosen, other))
        few = state.remembered(held, "years of the file", work=lambda: too_few_years(case))
        if few is not None:
            st.caption(literal(ahead.weather_words(few, found)))
    figures = outage_frames.figures(result, found)
    for place, figure in zip(st.columns(len(figures)), figures, strict=True):
        with place.container(border=True):
            st.metric(literal(figure.label), literal(figure.value))
            st.caption(literal(frames.words(figure.note, case.units)))
    run = once(
        "hours",
        lambda: trace(bank, weather, case.assumptions, health=health),
        large=True,
    )
    hardest = year_frames.worst_year(run.charge, found.worst_fortnight)
    left, right = st.columns([1.35, 1], gap="medium")
    with left:
        parts.heading("Charge through the hardest weather year")
        parts.chart(charts.charge_band(hardest))
        st.caption(literal(ahead.worst_words(found)))
    cells = outage_frames.cell_temperature(run, hardest.weather_year, case)
    with right:
        if not found.essential:  # an empty chart would tell nothing
            _cold(comparison, result, cells)
        else:
            parts.heading("When essential loads go short")
            parts.chart(outage_charts.by_month(outage_frames.by_month(found)))
            st.caption(
                f"Mean of {count(found.years, 'weather year')}; the figure on a bar is the share "
                "of years with an outage in that month."
            )
    _weak_point(comparison, chosen, other)
    _outages(found)
    if found.essential:
        _cold(comparison, result, cells)
    _health(held, comparison, result)
    st.divider()
    st.caption(literal(frames.words(CAUTION, case.units)))


def _weak_point(comparison: Comparison, chosen: Outlook, other: Outlook) -> None:
    parts.heading("Is it the battery or the charging?")
    picture, words = st.columns([1, 1.35], gap="medium")
    tried = next((one for one in (chosen, other) if one.weak.hours_with), None)
    if tried is not None:
        parts.chart(outage_charts.tried(outage_frames.tried(tried.weak)), place=picture)
        picture.caption(f"With the bank {ahead.state_words(tried.health)}.")
    else:
        words = picture  # there is nothing to draw
    with words:
        for one in (chosen, other):
            st.markdown(f"**When {ahead.state_words(one.health)}**")
            for sentence in ahead.cause_and_cure(one):
                st.markdown(literal(_said(sentence, comparison.case)))


def _said(sentence: str, case: Case) -> str:
    return frames.words(sentence, case.units)


def _outages(found: Outages) -> None:
    listed = outage_frames.outage_list(found)
    if listed.empty:
        return
    span = count(found.years, "weather year")
    with st.expander(f"Every outage of {span} ({len(found.outages)})"):
        if len(listed) < len(found.outages):
            st.caption(f"The first {len(listed)}.")
        parts.table(listed, money_digits=2, height=min(420, 38 + 35 * len(listed)))


def _cold(comparison: Comparison, result: Result, cells: pd.DataFrame) -> None:
    pack, imperial = result.arrangement.pack, comparison.case.units == "imperial"
    limit = from_canonical(pack.charge_min_degc, "degc", "degf") if imperial else (
        pack.charge_min_degc
    )  # fmt: skip
    parts.heading("How cold the cells get in that year")
    parts.chart(
        outage_charts.cells(cells, limit=limit, unit="°F" if imperial else "°C"),
    )


def _health(held: Workspace, comparison: Comparison, result: Result) -> None:
    case, life = comparison.case, result.life
    second = second_of(result)
    drawn, told = st.columns([1.35, 1], gap="medium")
    with drawn:
        parts.heading("Capacity over the years")
        parts.chart(
            charts.health_lines(
                year_frames.health(result, second),
                end_of_life_health=comparison.worn_health(result),
                replaced=[replacement.year for replacement in life.replacements],
            ),
        )
        replaced = "; ".join(f"year {r.year:.1f}: {r.reason}" for r in life.replacements)
        st.caption(literal(f"Replaced in {replaced}." if replaced else "Not replaced."))
        if second is not None:
            st.markdown(literal(second_sentence(result, second)))
            st.caption(literal(second.includes))
    with told:
        parts.heading("Habits that would help")
        advice = state.remembered(
            held, "habits", result.arrangement.label,
            work=lambda: habits(
                case, result.bank, comparison.conditions
            ),
            saying="Trying other habits…",
        )  # fmt: skip
        for one in advice:
            st.markdown(literal(_said(one.sentence, case)))
            st.caption(literal(frames.words(one.caution, case.units)))
        if not advice:
            st.markdown(ahead.NO_HABIT)
        st.caption(literal(resistance_sentence(life)))


main()
