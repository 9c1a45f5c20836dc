"""A grid's report becomes changes of single cells: compared with a plain model of the widget."""

import itertools
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tco.forms.sheet import Change, Changes, Sheet, report_taken

COLUMNS = ("name", "price", "mass")


def sheet(*rows: tuple[str, str, str]) -> Sheet:
    made = {
        f"#{n}": {c: t for c, t in zip(COLUMNS, row, strict=True) if t}
        for n, row in enumerate(rows)
    }
    return Sheet(COLUMNS, tuple(made), made)


def ids() -> Any:
    return map("#new{}".format, itertools.count(1)).__next__


def test_one_cell() -> None:
    held = sheet(("a", "1", ""), ("b", "2", ""))
    changes = report_taken(held, {"edited_rows": {1: {"price": "3"}}}, ids())
    assert changes == Changes(cells=(Change("#1", "price", "2", "3"),))
    # the same report again says nothing new
    assert report_taken(held, {"edited_rows": {1: {"price": "3"}}}, ids()) == Changes()
    # and what is no longer in it went back to what the grid was made of
    assert report_taken(held, {"edited_rows": {}}, ids()) == Changes(
        cells=(Change("#1", "price", "3", "2"),)
    )


def test_a_row_is_there_once_something_is_typed_in_it() -> None:
    held, new_id = sheet(), ids()
    assert report_taken(held, {"added_rows": [{}]}, new_id) == Changes()
    typed = report_taken(held, {"added_rows": [{"name": "a"}]}, new_id)
    assert typed.added == ("#new1",)
    assert typed.cells == (Change("#new1", "name", "", "a"),)
    emptied = report_taken(held, {"added_rows": [{"name": None}]}, new_id)
    assert emptied.gone == ("#new1",)


def test_an_added_row_taken_out_leaves_the_others_their_ids() -> None:
    held, new_id = sheet(), ids()
    three = [{"name": "a"}, {"name": "b"}, {"name": "c"}]
    report_taken(held, {"added_rows": three}, new_id)
    changes = report_taken(held, {"added_rows": [three[0], three[2]]}, new_id)
    assert changes == Changes(gone=("#new2",))
    assert held.order() == ["#new1", "#new3"]


cells = st.dictionaries(st.sampled_from(COLUMNS), st.sampled_from(["", "1", "2", "x"]))


class Widget:
    """What a grid widget does: it keeps its frame, and reports by place."""

    def __init__(self, rows: list[dict[str, str]]) -> None:
        self.frame = rows
        self.edited: dict[int, dict[str, str]] = {}
        self.added: list[dict[str, str]] = []
        self.deleted: list[int] = []

    def report(self) -> dict[str, Any]:
        return {
            "edited_rows": {n: dict(c) for n, c in self.edited.items() if n not in self.deleted},
            "added_rows": [dict(row) for row in self.added],
            "deleted_rows": list(self.deleted),
        }

    def shown(self) -> list[dict[str, str]]:
        there = [
            {**row, **self.edited.get(n, {})}
            for n, row in enumerate(self.frame)
            if n not in self.deleted
        ]
        rows = there + [row for row in self.added if any(row.values())]
        return [{c: t for c, t in row.items() if t} for row in rows]


actions = st.one_of(
    st.tuples(st.just("edit"), st.integers(0, 9), cells),
    st.tuples(st.just("add"), st.just(0), cells),
    st.tuples(st.just("edit added"), st.integers(0, 9), cells),
    st.tuples(st.just("delete"), st.integers(0, 9), st.just({})),
    st.tuples(st.just("delete added"), st.integers(0, 9), st.just({})),
)


@settings(max_examples=300, deadline=None)
@given(st.lists(cells, max_size=4), st.lists(actions, max_size=25))
def test_changes_laid_over_a_plain_model_give_what_the_widget_shows(
    start: list[dict[str, str]], done: list[tuple[str, int, dict[str, str]]]
) -> None:
    """Whatever is done to the widget, the model that only takes changes shows the same rows."""
    widget = Widget(start)
    made = {f"#{n}": {c: t for c, t in row.items() if t} for n, row in enumerate(start)}
    held, new_id = Sheet(COLUMNS, tuple(made), made), ids()
    model: dict[str, dict[str, str]] = {row: dict(texts) for row, texts in made.items()}
    for what, place, typed in done:
        if what == "edit" and place < len(start):
            widget.edited[place] = {**widget.edited.get(place, {}), **typed}
        elif what == "add":
            widget.added.append(dict(typed))
        elif what == "edit added" and place < len(widget.added):
            widget.added[place].update(typed)
        elif what == "delete" and place < len(start) and place not in widget.deleted:
            widget.deleted.append(place)
        elif what == "delete added" and place < len(widget.added):
            del widget.added[place]
        changes = report_taken(held, widget.report(), new_id)
        for row in changes.added:
            assert row not in model
            model[row] = {}
        for row in changes.gone:
            del model[row]
        for change in changes.cells:
            assert model[change.row].get(change.column, "") == change.before
            model[change.row][change.column] = change.after
        texts = {row: {c: t for c, t in cells.items() if t} for row, cells in model.items()}
        assert dict(held.shown()) == texts
        assert [texts[row] for row in held.order()] == widget.shown()


def test_half_a_character_becomes_one_that_can_be_drawn_and_kept() -> None:
    held = sheet(("a", "1", ""))
    changes = report_taken(
        held, {"edited_rows": {0: {"name": "b\ud83d", "mass": "\ud83d\udd0b"}}}, ids()
    )
    assert {change.column: change.after for change in changes.cells} == {
        "name": "b\ufffd", "mass": "\U0001f50b",
    }  # fmt: skip
    assert held.shown() == [("#0", {"name": "b\ufffd", "price": "1", "mass": "\U0001f50b"})]
