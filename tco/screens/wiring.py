"""Space and wiring: where the packs stand, how they are wired, what to buy and what goes."""

import re

import streamlit as st

from tco.bank.cautions import cautions
from tco.bank.fit.space import compartments
from tco.bank.wiring.wiring import CAUTION as WIRING_CAUTION
from tco.case.words import money
from tco.compare import Comparison
from tco.report.money import frames as money_frames
from tco.report.space import frames as space_frames
from tco.report.space.drawing import fit_drawing
from tco.report.wiring import charts as wiring_charts
from tco.report.wiring import frames as wiring_frames
from tco.report.wiring.before_after import before_after_drawing
from tco.report.wiring.block_drawing import block_drawing
from tco.report.wiring.commissioning import CAUTION as SERVICE_CAUTION
from tco.report.wiring.commissioning import STAGES, commissioning, commissioning_html
from tco.report.wiring.one_and_many import layouts_side_by_side
from tco.report.wiring.page import diagram_with_links, wiring_page
from tco.report.wiring.shopping import (
    also_needed,
    in_units,
    shopping_csv,
    shopping_html,
    shopping_list,
    tools,
)
from tco.report.wiring.words import feed_words
from tco.report.words import literal
from tco.result import Result
from tco.screens import bar, parts, state
from tco.screens.state import Workspace


def main() -> None:
    """Draw the screen."""
    held = bar.top("wiring")
    comparison = state.comparison_of(held)
    parts.troubles(held)
    if not comparison.results:
        parts.sentence("Nothing to wire yet: add at least one candidate.")
        parts.nothing_yet()
        return
    top = st.container()
    which, _ = st.columns([1, 1.4])
    result = parts.arrangement(held, comparison, place=which)
    with top:
        parts.sentence(wiring_frames.built(comparison, result))
    _space(comparison, result)
    if result.wiring is None:
        told = result.screening.check("wiring").reason
        parts.heading("It cannot be wired")
        st.markdown(literal(f"{told}."))
        return
    _diagram(comparison, result)
    if result.arrangement.pack.block is not None:
        parts.heading("How each block is built")
        st.image(block_drawing(result.arrangement.pack), width="stretch")
    _shopping(comparison, result)
    _there_already(comparison, result)
    _commissioning(comparison, result)
    _sharing(held, comparison, result)
    _one_and_many(comparison, result)


def _space(comparison: Comparison, result: Result) -> None:
    parts.heading("Where the packs stand")
    case, fit = comparison.case, result.screening.fit
    drawn, told = st.columns([1.5, 1], gap="medium")
    with drawn:
        if fit is None:
            st.info("Type width, depth and height of this pack under *Candidates* to see it here.")
        else:
            imperial = case.units == "imperial"
            st.image(fit_drawing(fit, compartments(case), imperial=imperial), width="stretch")
    with told:
        parts.reading(space_frames.space_checks(result, units=case.units))
        st.caption(
            "Pack 1 stands foremost to the left; orange marks the positive terminal. Leave room "
            "for the bend of the cables and for air, and hold every pack so that it cannot shift."
        )


def _diagram(comparison: Comparison, result: Result) -> None:
    parts.heading("How they are wired")
    parts.dangers(WIRING_CAUTION, cautions(comparison.case, result.arrangement))
    imperial = comparison.case.units == "imperial"
    for feed in comparison.feeds(result):
        if feed.fuse is None:
            st.warning(literal(f"{feed_words(feed, imperial=imperial)}."))
    st.iframe(wiring_page(comparison, result), alt="Wiring diagram")


def _file_name(result: Result) -> str:
    return re.sub(r"\W+", "_", result.arrangement.label).strip("_").lower()


def _shopping(comparison: Comparison, result: Result) -> None:
    case, sign = comparison.case, comparison.case.prices.currency
    listed = shopping_list(case, result)
    lines = tuple(in_units(line, case.units) for line in listed)
    title, table, page, drawing = st.columns([3, 1, 1, 1], vertical_alignment="center")
    with title:
        total = money(sum(line.cost for line in lines), sign)
        parts.heading(f"Shopping list: {total} without tax and labour")
    name = _file_name(result)
    table.download_button(
        "List (CSV)", shopping_csv(listed, units=case.units), file_name=f"{name}.csv",
        mime="text/csv", width="stretch", on_click="ignore",
    )  # fmt: skip
    page.download_button(
        "List to print", shopping_html(case, result), file_name=f"{name}.html", mime="text/html",
        width="stretch", on_click="ignore",
    )  # fmt: skip
    drawing.download_button(
        "Drawing (SVG)", diagram_with_links(comparison, result), file_name=f"{name}.svg",
        mime="image/svg+xml", width="stretch", on_click="ignore",
    )  # fmt: skip
    frame = wiring_frames.shopping(lines, sign)
    st.dataframe(
        frame.style.format("{:,.2f}", subset=list(frame.columns[2:4])),
        hide_index=True,
        height=min(600, 38 + 35 * len(frame)),
        column_config={
            "Part": st.column_config.TextColumn(width=330),
            "Link": st.column_config.LinkColumn(display_text="open", width=70),
            "Note": st.column_config.TextColumn(width=260),
        },
    )
    besides = also_needed(case, result)
    if besides:
        st.caption(literal(f"Also needed, not priced here: {'; '.join(besides)}."))
    needed = tools(result)
    if needed:
        st.caption(literal(f"Tools: {'; '.join(needed)}."))


def _there_already(comparison: Comparison, result: Result) -> None:
    wiring, units = result.wiring, comparison.case.units
    assert wiring is not None
    parts.heading("Before and after")
    st.image(before_after_drawing(comparison.case, result), width="stretch")
    old = money_frames.old_parts(result, comparison.case.prices.currency, units)
    if len(old):
        parts.heading("What becomes of the parts that are there")
        parts.reading(old)
    if wiring.exposed_alternators:
        st.warning(
            literal(
                f"{', '.join(wiring.exposed_alternators)}: a pack that disconnects itself while "
                "the engine runs can destroy the alternator's diodes. Its protection is on the "
                "shopping list; follow the maker's instructions."
            ),
            icon=":material/bolt:",
        )


def _commissioning(comparison: Comparison, result: Result) -> None:
    case = comparison.case
    title, page = st.columns([3, 1], vertical_alignment="center")
    with title:
        parts.heading("Putting it into service")
    page.download_button(
        "Checklist to print", commissioning_html(case, result.bank),
        file_name=f"{_file_name(result)}_service.html", mime="text/html", width="stretch",
        on_click="ignore",
    )  # fmt: skip
    st.warning(literal(SERVICE_CAUTION), icon=":material/bolt:")
    steps = commissioning(case, result.bank)
    for number, (stage, name) in enumerate(STAGES.items(), start=1):
        frame = wiring_frames.commissioning_stage(steps, stage, case.units)
        if len(frame):
            with st.expander(literal(f"{number}. {name}"), expanded=stage == "set"):
                parts.reading(frame)


def _sharing(held: Workspace, comparison: Comparison, result: Result) -> None:
    study = state.remembered(
        held, "sharing", result.arrangement.label, work=lambda: comparison.sharing(result)
    )
    wiring = result.wiring
    if study is None or wiring is None:
        return
    if study.ways:
        parts.heading("How the strings share the current")
        picture, figures = st.columns([1, 1.6], gap="medium")
        shares = wiring_charts.string_currents(wiring_frames.string_currents(study))
        parts.chart(shares, place=picture)
        with figures:
            parts.table(wiring_frames.ways(study, built_as=wiring.circuit.take_off), money_digits=1)
            st.caption(literal(wiring_frames.evened(study)))
            larger = wiring_frames.larger_fuses(study, built_as=wiring.circuit.take_off)
            if larger:
                st.caption(literal(larger))
        lost = wiring_frames.string_lost(study, result)
        if lost:
            st.markdown(literal(lost))
    if study.loose is not None:
        parts.heading("If one joint works loose")
        st.warning(literal(study.loose.caution), icon=":material/local_fire_department:")


def _one_and_many(comparison: Comparison, result: Result) -> None:
    """The arrangement shown beside the best ones with fewer and with more packs."""
    chosen = wiring_frames.beside(comparison, result)
    if len(chosen) < 2:
        return
    parts.heading("One large or several small: what the wiring says")
    rows = layouts_side_by_side(comparison, chosen)
    frame = wiring_frames.layouts(rows, comparison)
    parts.reading(frame)
    st.caption(literal(wiring_frames.LAYOUTS_SAY))


main()
