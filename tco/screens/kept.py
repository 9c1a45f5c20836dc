"""After the purchase: capacity tests against the promise, and whether a claim is due."""

from datetime import date

import pandas as pd
import streamlit as st

from tco.case import CaseError, Problem
from tco.case.capacity_log import parse_log
from tco.forms.log_text import FIRST_HEADINGS, LogText, as_placed, take_apart
from tco.report import log_charts, log_frames
from tco.report.assessment import Assessment, assess
from tco.report.frames import words
from tco.report.promise import promise_text
from tco.report.promise_data import promise_data
from tco.report.sentences import literal
from tco.report.verdict import CAUTION, RULE, share
from tco.screens import parts, state
from tco.screens.state import Grid, Workspace

OLD = "the old bank"
FILE = "capacity log"
FIELDS = (
    ("strings", "Strings", "1"),
    ("bought", "Bought", "such as 2025-03-01"),
    ("rated_ah", "Rated [Ah]", "as sold"),
    ("warranty_years", "Warranty [years]", "as sold"),
    ("warranty_health", "Warranted health", "such as 80 %"),
)


def main() -> None:
    """Draw the screen."""
    held = parts.opening()
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
    st.altair_chart(
        log_charts.health(
            log_frames.course(data), log_frames.points(data), log_frames.days(data),
            limit=limit,
            limit_words=f"{'replaced' if old else 'promised'} at {share(limit)}",
            expected=None if expected is None else (data["today"], expected),
        ),
        theme=None,
    )  # fmt: skip
    told = (
        "Dots: tests corrected to 25 degC and the rated current, with their 80 % band. Line and "
        "shade: the fit and its 80 % band."
    )
    if expected is not None:
        told += " Diamond: what the simulated years expected by then."
    st.caption(literal(words(told, held.case.units)))
    _cells_and_tests(data)
    for told in (*data["doubts"], *([RULE] if old else [])):
        st.caption(literal(words(told, held.case.units)))
    for assumed in judged.assumed:
        st.caption(literal(f"Assumed: {assumed}"))
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


def _cells_and_tests(data: dict[str, object]) -> None:
    cells = log_frames.cells(data)
    right = st.container()
    if cells is not None:
        left, right = st.columns([1, 1.6], gap="medium")
        with left:
            parts.heading("How far the cells are apart")
            st.altair_chart(log_charts.spread(cells[1]), theme=None)
            st.caption(literal(cells[0]))
    with right:
        parts.heading("The tests, as measured and corrected")
        parts.reading(log_frames.tests(data))
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
    log = take_apart(held.log)
    parts.heading("The log: what was tested")
    places = st.columns([2, *[1] * len(FIELDS)], vertical_alignment="bottom")
    names = [*(candidate.name for candidate in held.case.candidates), OLD]
    stated = OLD if log.stated("old_bank").lower() in ("yes", "true") else log.stated("candidate")
    options = [*names, *([stated] if stated and stated not in names else [])]
    prefix = f"{held.version} log {held.logs}"
    key = f"{prefix} battery"
    if key not in st.session_state:
        st.session_state[key] = stated or None
    battery = places[0].selectbox(
        "Battery", options, key=key, index=None, placeholder="which one was tested"
    )
    if battery != (stated or None):
        log = log.with_stated("candidate", "" if battery in (None, OLD) else str(battery))
        log = log.with_stated("old_bank", "yes" if battery == OLD else "")
    for place, (field, label, hint) in zip(places[1:], FIELDS, strict=True):
        key = f"{prefix} {field}"
        if key not in st.session_state:
            st.session_state[key] = log.stated(field)
        typed = place.text_input(label, key=key, placeholder=hint)
        if typed != log.stated(field):
            log = log.with_stated(field, typed)
    log = _tests_grid(held, log, f"{prefix} grid")
    held.log = log.text() if log.tests or log.lines or log.headings != FIRST_HEADINGS else ""
    _how_to(held, expanded=not log.tests)
    _sources(held)
    return log


def _tests_grid(held: Workspace, log: LogText, key: str) -> LogText:
    columns = list(log.headings)
    if key not in st.session_state or key not in held.grids:
        frame = pd.DataFrame([list(row) for row in log.rows], columns=columns, dtype=object)
        held.grids[key] = Grid(before=[], last=None, frame=frame)
    edited = st.data_editor(
        held.grids[key].frame,
        key=key,
        num_rows="dynamic",
        hide_index=True,
        column_config={name: st.column_config.TextColumn(name) for name in columns},
        placeholder="",
    )
    rows = [
        tuple("" if cell is None or cell != cell else str(cell) for cell in row)
        for row in edited[columns].to_numpy().tolist()
    ]
    after = LogText(log.lines, tuple(columns), tuple(rows), log.separator)
    told, more = st.columns([4, 1], vertical_alignment="center")
    told.caption(
        "One full discharge a row: from full, at a steady current, to the maker's end voltage. A "
        "figure may carry its own unit, such as 64 °F."
    )
    with more.popover("Columns for cells", width="stretch"):
        count = st.number_input(
            "Cells or blocks read", 2, 48, max(4, after.cells), key=f"{key} cells"
        )
        st.button(
            "Add their columns",
            on_click=state.open_log,
            args=(after.with_cells(int(count)).text(),),
        )
    return after


def _sources(held: Workspace) -> None:
    demos = state.demo_logs(held)
    load, save = st.columns([4, 1], gap="medium", vertical_alignment="top")
    with load.expander("Load a log, or paste one"):
        for place, (name, text) in zip(st.columns(max(1, len(demos))), demos.items(), strict=False):
            place.button(name, on_click=state.open_log, args=(text,), width="stretch")
        upload = st.file_uploader("Log (CSV)", type=["csv", "txt", "tsv"], key="log file")
        pasted = st.text_area("or paste it here", key="log paste", height=140)
        text = state.decoded(upload.getvalue()) if upload is not None else pasted
        if text.strip():
            st.button("Open this log", type="primary", on_click=state.open_log, args=(text,))
        if held.log:
            st.button("Start an empty log", on_click=state.open_log, args=("",))
    save.download_button(
        "Save the log (CSV)", held.log, file_name="capacity_tests.csv", mime="text/csv",
        width="stretch", on_click="ignore", disabled=not held.log,
    )  # fmt: skip


main()
