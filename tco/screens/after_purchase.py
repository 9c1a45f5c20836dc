"""After the purchase: capacity tests against the promise, and whether a claim is due."""

from datetime import date
from typing import Any

import streamlit as st

from tco.case import CaseError, Problem
from tco.case.capacity_log import parse_log
from tco.checkup.assessment import Assessment, assess
from tco.forms.entry import Entry, Units
from tco.forms.log_document import ABOUT, TESTS, headings_entry, log_entries, log_of
from tco.forms.log_text import LogText, as_placed
from tco.report.checkup import charts as log_charts
from tco.report.checkup import frames as log_frames
from tco.report.checkup.data import promise_data
from tco.report.checkup.text import promise_text
from tco.report.checkup.words import CAUTION, RULE, share
from tco.report.frames import words
from tco.report.words import literal
from tco.screens import bar, fields, opening, parts, state
from tco.screens.state import Workspace
from tco.sentences import degc, says
from tco.workspace.document import LOG, under
from tco.workspace.edits import Edit, difference

OLD = "the old bank"
FILE = "capacity log"
FIELDS = (
    Entry("strings", "Strings", "text"),
    Entry("bought", "Bought", "text"),
    Entry("rated_ah", "Rated [Ah]", "text"),
    Entry("warranty_years", "Warranty [years]", "text"),
    Entry("warranty_health", "Warranted health", "text"),
)
HINTS = ("1", "such as 2025-03-01", "as sold", "as sold", "such as 80 %")
_CANDIDATE, _OLD_BANK = (*ABOUT, "candidate"), (*ABOUT, "old_bank")


def main() -> None:
    """Draw the screen."""
    held = bar.top("after_purchase")
    state.comparison_of(held)
    parts.troubles(held)
    top = st.container()
    log = _edit(held)
    with top:
        _judgement(held, log)


def _judgement(held: Workspace, log: LogText) -> None:
    if not log.tests:
        parts.sentence(
            "No capacity test yet: type the first one below, or load a log; a test a year tells "
            "whether the battery keeps its promise."
        )
        return
    head, when = st.columns([4.6, 1], vertical_alignment="bottom")
    day = when.date_input(
        "Judged on", value=date.today(), format="YYYY-MM-DD", key=f"{held.version} judged"
    )
    problems, judged = _judged(held, log, day if isinstance(day, date) else date.today())
    if judged is None:
        with head:
            parts.sentence("The log cannot be judged yet.")
        parts.problem_table(as_placed(problems, log))
        return
    data = promise_data(judged)
    with head:
        parts.sentence(words(data["headline"], held.case.units))
    if data["detail"]:
        st.markdown(literal(words(data["detail"], held.case.units)))
    figures = log_frames.figures(data)
    for place, figure in zip(st.columns(len(figures)), figures, strict=True):
        with place.container(border=True):
            st.metric(literal(figure.label), literal(figure.value))
            st.caption(literal(figure.note))
    claim = log_frames.claim_words(data)
    if claim:
        cells = data["cells"]
        urgent = data["claim"] == "claim now" or bool(cells and cells["caution"])
        (st.warning if urgent else st.info)(literal(claim), icon=":material/event:")
    old = data["kind"] == "old bank"
    limit = data["replace_below"] if old else data["threshold"]
    expected = None if old else data["forecast_today"]
    parts.heading(judged.label if old else f"Health against the promise: {judged.label}")
    parts.chart(
        log_charts.health(
            log_frames.course(data), log_frames.points(data), log_frames.days(data),
            limit=limit,
            limit_words=f"{'replaced' if old else 'promised'} at {share(limit)}",
            expected=None if expected is None else (data["today"], expected),
        ),
    )  # fmt: skip
    diamond = " Diamond: what the simulated years expected by then."
    told = says(
        "Dots: tests corrected to ",
        degc(25.0),
        " and the rated current, with their 80 % band. Line and shade: the fit and its 80 % band.",
        diamond if expected is not None else "",
    )
    st.caption(literal(words(told, held.case.units)))
    _cells_and_tests(data, held.case.units)
    for told in (*data["doubts"], *([RULE] if old else [])):
        st.caption(literal(words(told, held.case.units)))
    for assumed in judged.assumed:
        st.caption(literal(f"Assumed: {words(assumed, held.case.units)}"))
    st.caption(literal(words(CAUTION, held.case.units)))
    _, save = st.columns([4, 1])
    save.download_button(
        "Judgement as text", promise_text(judged), file_name="judgement.txt", width="stretch",
        on_click="ignore",
    )  # fmt: skip


def _how_to(held: Workspace, *, expanded: bool) -> None:
    """How a capacity test is made, with its caution."""
    with st.expander("How to test a battery", expanded=expanded):
        st.markdown(
            "\n".join(f"1. {literal(words(step, held.case.units))}" for step in log_frames.HOW_TO)
        )
        st.caption(literal(words(CAUTION, held.case.units)))


def _cells_and_tests(data: dict[str, object], units: Units) -> None:
    cells = log_frames.cells(data)
    right = st.container()
    if cells is not None:
        left, right = st.columns([1, 1.6], gap="medium")
        with left:
            parts.heading("How far the cells are apart")
            parts.chart(log_charts.spread(cells[1]))
            st.caption(literal(cells[0]))
    with right:
        parts.heading("The tests, as measured and corrected")
        parts.reading(log_frames.tests(data, units))
        st.caption(
            "A cold or a fast discharge gives less than the battery holds: corrected is measured "
            "over what temperature and current leave of it."
        )


def _judged(
    held: Workspace, log: LogText, day: date
) -> tuple[tuple[Problem, ...], Assessment | None]:
    text, case = log.text(), held.case

    def work() -> tuple[tuple[Problem, ...], Assessment | None]:
        try:
            return (), assess(parse_log(text, file=FILE), case, today=day, file=FILE)
        except CaseError as error:
            return error.problems, None
        except (ValueError, ArithmeticError) as error:
            return (Problem(f"cannot be judged: {error}", file=FILE),), None

    return state.remembered(held, "log", text, day.isoformat(), work=work, saying="Judging…")


def _edit(held: Workspace) -> LogText:
    """The log as typed: what it belongs to, its tests, and where it may come from."""
    st.divider()
    log = log_of(held.view)
    parts.heading("The log: what was tested")
    places = st.columns([2, *[1] * len(FIELDS)], vertical_alignment="bottom")
    _battery(held, places[0])
    for place, entry, hint in zip(places[1:], FIELDS, HINTS, strict=True):
        fields.field(held, place, ABOUT, entry, entry.heading("metric"), hint)
    _tests_grid(held, log)
    _how_to(held, expanded=not log.tests)
    _sources(held)
    return log


def _battery(held: Workspace, place: Any) -> None:
    names = [*(candidate.name for candidate in held.case.candidates), OLD]
    is_old = str(held.view.get(_OLD_BANK) or "").lower() in ("yes", "true")
    stated = OLD if is_old else str(held.view.get(_CANDIDATE) or "")
    options = [*names, *([stated] if stated and stated not in names else [])]
    key = f"{held.version} log battery {stated}"
    if key not in st.session_state:
        st.session_state[key] = stated or None
    place.selectbox(
        "Battery", options, key=key, index=None, placeholder="which one was tested",
        on_change=_battery_chosen, args=(key,),
    )  # fmt: skip


def _battery_chosen(key: str) -> None:
    held = state.workspace()
    chosen = st.session_state.get(key)
    wanted = {
        _CANDIDATE: None if chosen in (None, OLD) else chosen,
        _OLD_BANK: "yes" if chosen == OLD else None,
    }
    held.commit(Edit(path, held.view.get(path), value) for path, value in wanted.items())


def _tests_grid(held: Workspace, log: LogText) -> None:
    entries = [Entry(heading, heading, "text") for heading in log.headings]
    fields.grid(held, TESTS, entries)
    told, more = st.columns([4, 1], vertical_alignment="center")
    told.caption(
        "One full discharge a row: from full, at a steady current, to the maker's end voltage. A "
        "figure may carry its own unit, such as 64 °F."
    )
    with more.popover("Columns for cells", width="stretch"):
        key = f"{held.version} log cells"
        st.number_input("Cells or blocks read", 2, 48, max(4, log.cells), key=key)
        st.button("Add their columns", on_click=_add_cells, args=(key,))


def _add_cells(key: str) -> None:
    held = state.workspace()
    wider = log_of(held.view).with_cells(int(st.session_state[key]))
    wanted = headings_entry(wider)
    edits = [Edit(path, held.view.get(path), value) for path, value in wanted.items()]
    held.commit(edits, f"columns for {wider.cells} cells")


def _sources(held: Workspace) -> None:
    demos = opening.demo_logs(held)
    load, save = st.columns([4, 1], gap="medium", vertical_alignment="top")
    with load.expander("Load a log, or paste one"):
        for place, (name, text) in zip(st.columns(max(1, len(demos))), demos.items(), strict=False):
            place.button(name, on_click=_open_log, args=(text, name), width="stretch")
        upload = st.file_uploader("Log (CSV)", type=["csv", "txt", "tsv"], key="log file")
        pasted = st.text_area("or paste it here", key="log paste", height=140)
        text = opening.decoded(upload.getvalue()) if upload is not None else pasted
        if text.strip():
            name = upload.name if upload is not None else "pasted"
            st.button("Open this log", type="primary", on_click=_open_log, args=(text, name))
        if held.log:
            st.button("Start an empty log", on_click=_open_log, args=("", "empty"))
    save.download_button(
        "Save the log (CSV)", lambda: held.log, file_name="capacity_tests.csv",
        mime="text/csv", width="stretch", on_click="ignore", disabled=not held.log,
    )  # fmt: skip


def _open_log(text: str, name: str) -> None:
    held = state.workspace()
    old = under(held.view, (LOG,))
    held.commit(difference(old, log_entries(text)), f"log of capacity tests: {name}")


main()
