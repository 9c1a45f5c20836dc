"""Parts every screen is made of: the bar with the case, the sentence, forms and grids."""

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

import pandas as pd
import streamlit as st
from pydantic import BaseModel

from tco.case import Case, Problem
from tco.case.explain import model_at
from tco.case.quantities import MONTHS
from tco.case.spreads import Spreads
from tco.case.toml import case_to_toml
from tco.compare import Comparison, Result
from tco.forms import labels, typed
from tco.forms.labels import Entry
from tco.report import input_frames
from tco.report.sentences import literal
from tco.screens import state
from tco.screens.state import Grid, Workspace

STYLE = Path(__file__).with_name("style.css")
_REFUSED = "files refused"


def opening() -> Workspace:
    """The bar above every screen: which case this is, opening another, saving it."""
    st.html(STYLE)
    held = state.workspace()
    title, another, save = st.columns([6, 1.1, 1], vertical_alignment="center")
    title.markdown(f"**{literal(held.case.title)}** — {literal(_first_sentence(held.case.story))}")
    with another.popover("Cases", width="stretch"):
        _choose()
    save.download_button(
        "Save",
        case_to_toml(held.case),
        file_name="case.toml",
        mime="application/toml",
        width="stretch",
        on_click="ignore",
        help="One TOML file with the candidates in it"
        + (" (as last readable, without what is wrong now)" if held.problems else ""),
    )
    refused = st.session_state.get(_REFUSED, ())
    if refused:
        st.error(
            "The file was not opened; the case on screen is unchanged.", icon=":material/error:"
        )
        problem_table(refused)
        st.button("Understood", on_click=_forget_refused)
    return held


def _first_sentence(story: str) -> str:
    text = " ".join(story.split())
    return text.split(". ")[0].rstrip(".") + "." if text else "no story told yet."


def _choose() -> None:
    st.caption("Demo cases, all invented")
    for name, words in state.DEMOS.items():
        st.button(words, key=f"demo {name}", width="stretch", on_click=_open, args=(name,))
    st.button("Start an empty case", width="stretch", on_click=_open, args=("",))
    st.caption("Or open your own")
    toml = st.file_uploader("Case (TOML)", type=["toml"], key="case file")
    table = st.file_uploader(
        "Its candidate table (CSV), if it has one beside it", type=["csv", "txt"], key="table file"
    )
    if toml is not None:
        files = [(f.name, f.getvalue()) if f is not None else None for f in (toml, table)]
        st.button("Open these files", type="primary", on_click=_open_files, args=files)


def _open(name: str) -> None:
    _forget_refused()
    if name:
        state.open_demo(name)
    else:
        state.open_empty()


def _open_files(toml: tuple[str, bytes], table: tuple[str, bytes] | None) -> None:
    st.session_state[_REFUSED] = state.open_files(toml, table)


def _forget_refused() -> None:
    st.session_state.pop(_REFUSED, None)


def sentence(text: str) -> None:
    """The answer of a screen in one sentence, large."""
    st.subheader(literal(text), anchor=False)


def heading(text: str) -> None:
    """A heading within a screen."""
    st.markdown(f"##### {literal(text)}")


def troubles(held: Workspace) -> None:
    """What is wrong with what was typed, above the answer that still stands."""
    if held.failure:
        st.error(literal(held.failure), icon=":material/error:")
    if not held.problems:
        return
    count = len(held.problems)
    st.error(
        f"{count} thing{'s' * (count != 1)} cannot be read. What you typed is kept; the answer "
        "shown is the last one that could be worked out.",
        icon=":material/error:",
    )
    problem_table(held.problems)


def problem_table(problems: Sequence[Problem]) -> None:
    """What is wrong, where, and how to mend it."""
    reading(input_frames.problems(problems))


SHOWN = "arrangement shown"


def arrangement(held: Workspace, comparison: Comparison, *, place: Any = st) -> Result:
    """The arrangement looked at, to be chosen; the same one on every screen."""
    names = [result.arrangement.label for result in comparison.results]
    if st.session_state.get(SHOWN) not in names:
        st.session_state[SHOWN] = held.shown if held.shown in names else names[0]
    held.shown = place.selectbox(
        "Arrangement shown", names, key=SHOWN, label_visibility="collapsed"
    )
    return comparison.result(held.shown)


def nothing_yet() -> None:
    """What to do where there is no arrangement to show."""
    st.info(
        "Type a pack under *Candidates*, or open a demo under *Cases* to look around.",
        icon=":material/arrow_forward:",
    )


MOST_TO_READ = 40


def reading(frame: pd.DataFrame) -> None:
    """A table of words that wraps, so that every reason can be read to its end."""
    if len(frame) > MOST_TO_READ:
        st.dataframe(frame, hide_index=True, height=420)
    elif len(frame):
        shown = frame.map(lambda cell: literal(str(cell))).rename(columns=literal)
        st.table(shown, border="horizontal", hide_index=True)


def table(frame: pd.DataFrame, *, money_digits: int = 0, height: int | None = None) -> None:
    """A table to read: numbers with thousands marks, full height unless it is long."""
    formats: dict[Any, Any] = {
        name: f"{{:,.{money_digits if '[' in name else 1}f}}"
        for name in frame.columns
        if pd.api.types.is_float_dtype(frame[name])
    }
    shown: Any = frame.style.format(formats, na_rep="–") if formats else frame
    st.dataframe(shown, hide_index=True, height=height or min(600, 38 + 35 * max(1, len(frame))))


def form(
    held: Workspace,
    path: tuple[str, ...],
    entries: Sequence[Entry],
    *,
    columns: int = 4,
    optional: bool = False,
) -> None:
    """Fields of one section of the case. Any unit may be typed; empty takes the value shown grey.

    `optional`: the whole section is left out of the case when every field but its name is empty.
    """
    units, currency = held.case.units, held.case.prices.currency
    model = model_at(Case, path)
    places: list[Any] = []
    for number, entry in enumerate(entries):
        if number % columns == 0:
            places = st.columns(columns, vertical_alignment="bottom")
        key = f"{held.version} {units} {'.'.join((*path, entry.field))}"
        row = held.section(path)
        if key not in st.session_state:
            first = typed.shown_text(row, entry, units)
            chooses = entry.kind in ("choice", "yes_no")
            st.session_state[key] = (first or None) if chooses else first
            held.seen[key] = first
        usual = typed.default_text(model, entry, units)
        text = _field(
            places[number % columns],
            key,
            entry,
            _plain(entry.heading(units, currency), currency),
            usual,
        )
        if text != held.seen.get(key, ""):
            held.seen[key] = text
            typed.put(row, entry, units, text)
            empty = optional and not set(row) - {"name"}
            held.put(path, None if empty else row)


def _plain(label: str, currency: str) -> str:
    """A label as it is where it holds no markdown: screen readers read the text unescaped."""
    return label if re.fullmatch(r"[\w€£$. ]*", currency) else literal(label)


def _field(place: Any, key: str, entry: Entry, label: str, usual: str) -> str:
    if entry.kind in ("choice", "yes_no"):
        options = list(entry.choices or ("yes", "no"))
        now = st.session_state[key]
        if now is not None and now not in options:
            options.append(now)
        chosen = place.selectbox(
            label, options, key=key, index=None, placeholder=f"{usual} (assumed)"
        )
        return chosen or ""
    hint = f"{usual} (assumed)" if usual and usual != entry.none else usual or "has to be given"
    return str(place.text_input(label, key=key, placeholder=hint))


def grid(
    held: Workspace,
    path: tuple[str, ...],
    entries: Sequence[Entry],
    *,
    height: int | None = None,
    pinned: int = 0,
    widths: Mapping[str, int] = MappingProxyType({}),
    help_text: str = "",
    usual: Sequence[BaseModel] = (),
) -> None:
    """An editable grid of a list of the case; rows can be added and taken out.

    `usual` are the rows that hold as long as the case states none.
    """
    units, currency = held.case.units, held.case.prices.currency
    key = f"{held.version} {units} {'.'.join(path)} grid"
    if key not in st.session_state or key not in held.grids:
        stated = held.section(path[:-1]).get(path[-1]) is not None
        before = held.rows(path) if stated else [row.model_dump(mode="json") for row in usual]
        texts = typed.grid_of(before, entries, units)
        columns = [entry.field for entry in entries]
        frame = pd.DataFrame(texts, columns=columns, dtype=object)
        held.grids[key] = Grid(before=before, last=before, frame=frame)
    kept = held.grids[key]
    config = {
        entry.field: _column(
            entry,
            entry.heading(units, currency),
            kept.frame,
            pinned=number < pinned,
            width=widths.get(entry.field),
        )
        for number, entry in enumerate(entries)
    }
    if help_text:
        st.caption(help_text)
    size: int | Literal["auto"] = height or "auto"
    edited = st.data_editor(
        kept.frame,
        key=key,
        num_rows="dynamic",
        hide_index=True,
        column_config=config,
        placeholder="",
        height=size,
    )
    cells = edited.to_dict(orient="index")
    rows = typed.rows_of(cells, kept.before, entries, units)
    if rows != kept.last:
        kept.last = rows
        held.put(path, rows)
        if path == ("candidates",) and _names_followed(held, kept.before, cells):
            st.rerun()


def _names_followed(
    held: Workspace, before: Sequence[Mapping[str, Any]], cells: Mapping[Any, Mapping[str, Any]]
) -> bool:
    renamed, gone = {}, set()
    good = held.case.candidates  # a name once emptied is known from the last good case
    for number, row in enumerate(before):
        old = str(row.get("name") or (good[number].name if len(good) == len(before) else ""))
        new = str(cells[number].get("name") or "").strip() if number in cells else None
        if new is None:
            gone.add(old)
        elif new and new != old:
            renamed[old] = new
    still_there = {str(row.get("name") or "").strip() for row in cells.values()}
    return state.follow_names(held, renamed, gone - still_there)


def _column(
    entry: Entry, label: str, frame: pd.DataFrame, *, pinned: bool, width: int | None
) -> Any:
    if entry.kind in ("choice", "yes_no"):
        options = list(entry.choices or ("yes", "no"))
        odd = [v for v in frame[entry.field].dropna().unique() if v not in options]
        return st.column_config.SelectboxColumn(
            label, options=[*options, *odd], pinned=pinned, width=width
        )
    numeric = entry.kind in ("number", "share", "price")
    return st.column_config.TextColumn(
        label, pinned=pinned, width=width, alignment="right" if numeric else "left"
    )


def spreads_grid(held: Workspace) -> None:
    """A fixed grid of the uncertain quantities: what each is called, and its two ends."""
    key = f"{held.version} spreads grid"
    ends = ("low", "high")
    if key not in st.session_state or key not in held.grids:
        cells = []
        for name, label, entries in labels.SPREADS:
            usual = getattr(Spreads(), name).model_dump()
            stated = {**usual, **held.section(("spreads", name))}
            shown = {e.field: typed.shown_text(stated, e, "metric") for e in entries}
            cells.append({"what": label, **shown, "unit": entries[0].unit})
        frame = pd.DataFrame(cells, dtype=object)
        held.grids[key] = Grid(before=[], last=frame.to_dict(orient="records"), frame=frame)
    kept = held.grids[key]
    edited = st.data_editor(
        kept.frame,
        key=key,
        num_rows="fixed",
        hide_index=True,
        disabled=["what", "unit"],
        height="content",
        column_config={
            "what": st.column_config.TextColumn("Quantity", width=240),
            "low": st.column_config.TextColumn("1 in 10 below", alignment="right", width=110),
            "high": st.column_config.TextColumn("1 in 10 above", alignment="right", width=110),
            "unit": st.column_config.TextColumn("", width=190),
        },
    )
    now = edited.to_dict(orient="records")
    for (name, _, entries), before, after in zip(labels.SPREADS, kept.last, now, strict=True):
        texts = [str(after[end] or "").strip() for end in ends]
        if before == after:
            continue
        row: dict[str, Any] = {}
        for entry, text in zip(entries, texts, strict=True):
            typed.put(row, entry, "metric", text)
        held.put(("spreads", name), row if any(texts) else None)
    kept.last = now


def months_grid(
    held: Workspace,
    name: str,
    lines: Sequence[tuple[tuple[str, ...], int | None, Entry, float]],
) -> None:
    """A grid of twelve columns, one line for each monthly entry.

    A line is the path of its section, the number of its row where that is a list, the entry, and
    the amount taken where nothing is stated.
    """
    units, currency = held.case.units, held.case.prices.currency
    shape = "|".join(f"{'.'.join(path)}{index}{entry.label}" for path, index, entry, _ in lines)
    key = f"{held.version} {units} {name} {shape} months"
    if key not in st.session_state or key not in held.grids:
        cells = []
        for path, index, entry, usual in lines:
            texts = typed.month_texts(_row_at(held, path, index), entry, units, usual)
            cells.append(
                {"": entry.heading(units, currency), **dict(zip(MONTHS, texts, strict=True))}
            )
        frame = pd.DataFrame(cells, dtype=object)
        held.grids[key] = Grid(before=[], last=frame.to_dict(orient="records"), frame=frame)
    kept = held.grids[key]
    config: dict[str, Any] = {
        month: st.column_config.TextColumn(month, alignment="right", width=68) for month in MONTHS
    }
    config[""] = st.column_config.TextColumn("", pinned=True, width=300)
    edited = st.data_editor(
        kept.frame, key=key, num_rows="fixed", hide_index=True, disabled=[""], column_config=config
    )
    now = edited.to_dict(orient="records")
    for line, before, after in zip(lines, kept.last, now, strict=True):
        if before == after:
            continue
        path, index, entry, _ = line
        row = _row_at(held, path, index)
        typed.put_months(row, entry, units, [str(after[m] or "") for m in MONTHS])
        if index is None:
            held.put(path, row)
        else:
            rows = held.rows(path)
            rows[index] = row
            held.put(path, rows)
    kept.last = now


def _row_at(held: Workspace, path: tuple[str, ...], index: int | None) -> dict[str, Any]:
    if index is None:
        return held.section(path)
    rows = held.rows(path)
    return rows[index] if index < len(rows) else {}
