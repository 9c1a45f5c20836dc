"""One case, several tabs: every edit stands, what meets is asked, undo is each tab's own."""

import random
from pathlib import Path
from typing import Any

import pytest

from tco.case import read_case
from tco.case.toml import case_from_mapping, case_to_mapping
from tco.workspace import desk as desk_module
from tco.workspace import journal
from tco.workspace.desk import Desk, desk_of, new_desk
from tco.workspace.document import document_of, path_at, plain, rows, under, with_unit
from tco.workspace.edits import Document, Edit, applied, difference
from tco.workspace.schema.stored import NoSuchCase, NotKept
from tco.workspace.store import Store

ROOT = Path(__file__).resolve().parents[2]
BASE = document_of(
    case_to_mapping(read_case(ROOT / "candidates_demo" / "coldharbour.toml")),
)
FIRST, SECOND = rows(BASE, ("candidates",))[:2]
PRICE, OTHER = ("candidates", FIRST, "price"), ("candidates", SECOND, "price")


def put(desk: Desk, path: tuple[str, ...], value: Any, words: str = "typed") -> None:
    desk.do([Edit(path, desk.view.get(path), value)], words)


def take_out(desk: Desk, row: str) -> None:
    place = ("candidates", row)
    desk.do([Edit(p, v, None) for p, v in under(desk.view, place).items()], "taken out")


def two(store: Store) -> tuple[Desk, Desk]:
    one = new_desk(store, BASE)
    put(one, ("title",), "Two tabs")
    return one, desk_of(store, one.case_id)


def test_a_case_nobody_edited_is_in_no_store(store: Store) -> None:
    desk = new_desk(store, BASE)
    assert store.cases() == ()
    put(desk, PRICE, 111.0)
    assert [info.id for info in store.cases()] == [desk.case_id]
    again = desk_of(store, desk.case_id)
    assert again.view == desk.view == {**BASE, PRICE: 111.0}


def test_an_edit_that_changes_nothing_is_none(store: Store) -> None:
    desk = new_desk(store, BASE)
    put(desk, PRICE, BASE[PRICE])
    assert desk.history == ()
    assert store.cases() == ()


def test_undo_and_redo(store: Store) -> None:
    desk = new_desk(store, BASE)
    put(desk, PRICE, 1.0)
    put(desk, PRICE, 2.0)
    desk.undo()
    assert desk.view[PRICE] == 1.0
    desk.undo()
    assert desk.view == BASE
    assert desk.to_undo() is None
    desk.undo()
    assert desk.view == BASE
    desk.redo()
    desk.redo()
    assert desk.view[PRICE] == 2.0
    desk.undo()
    put(desk, OTHER, 5.0)
    assert desk.to_redo() is None  # an edit came after it


def test_undo_goes_on_after_a_reload(store: Store) -> None:
    first = new_desk(store, BASE)
    put(first, PRICE, 1.0)
    put(first, PRICE, 2.0)
    first.undo()
    again = desk_of(store, first.case_id)
    again.redo()
    assert again.view[PRICE] == 2.0
    again.undo()
    again.undo()
    assert again.view == BASE


def test_a_row_taken_out_comes_back_whole(store: Store) -> None:
    desk = new_desk(store, BASE)
    take_out(desk, FIRST)
    assert FIRST not in rows(desk.view, ("candidates",))
    desk.undo()
    assert desk.view == BASE


def test_back_to_any_moment_and_back_again(store: Store) -> None:
    desk = new_desk(store, BASE)
    moments = [dict(desk.view)]
    for value in (1.0, 2.0, 3.0):
        put(desk, PRICE, value)
        moments.append(dict(desk.view))
    for number, moment in enumerate(moments):
        desk.return_to(number, "back")
        assert desk.view == moment
    desk.undo()
    assert desk.view == moments[2]


def test_edits_of_different_cells_both_stand(store: Store) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    put(other, OTHER, 2.0)
    assert not one.questions
    assert not other.questions
    assert other.view[PRICE] == BASE[PRICE]  # told, not pushed under typing hands
    assert [step.words for step in other.waiting] == ["typed"]
    other.take_in()
    one.look()
    one.take_in()
    assert one.view == other.view
    assert (one.view[PRICE], one.view[OTHER]) == (1.0, 2.0)


@pytest.mark.parametrize("mine", [True, False])
def test_edits_of_the_same_cell_ask(store: Store, mine: bool) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    put(other, PRICE, 2.0)
    assert other.view[PRICE] == 1.0  # nothing is written over
    (question,) = other.questions
    assert question.mine[0].after == 2.0
    assert question.theirs[0].after == 1.0
    other.answer(question, mine=mine)
    assert other.view[PRICE] == (2.0 if mine else 1.0)
    assert desk_of(store, one.case_id).view == other.view


def test_two_tabs_at_the_address_of_a_demo_make_one_case(store: Store) -> None:
    one = new_desk(store, BASE, case_id="demo-abcdefghijkl")
    other = new_desk(store, BASE, case_id="demo-abcdefghijkl")
    put(one, PRICE, 1.0)
    put(other, OTHER, 2.0)
    put(other, PRICE, 3.0)
    assert len(store.cases()) == 1
    assert other.questions
    view = desk_of(store, one.case_id).view
    assert (view[PRICE], view[OTHER]) == (1.0, 2.0)


def test_the_address_of_somebody_elses_case_shows_and_changes_nothing_of_it(store: Store) -> None:
    one = new_desk(store, BASE, case_id="demo-abcdefghijkl", owner="one")
    put(one, PRICE, 1.0)
    other = new_desk(store, BASE, case_id="demo-abcdefghijkl", owner="other")
    assert other.look() == ()
    put(other, PRICE, 2.0)
    assert other.case_id != one.case_id  # kept all the same, as a case of its own
    assert desk_of(store, other.case_id, owner="other").view[PRICE] == 2.0
    assert desk_of(store, one.case_id, owner="one").view[PRICE] == 1.0
    with pytest.raises(NoSuchCase):
        desk_of(store, one.case_id, owner="other")


def failing(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    def full(*_: object, **__: object) -> None:
        raise NotKept("The disk is full.")

    monkeypatch.setattr(desk_module.Store, "append", full)
    return monkeypatch


def test_an_edit_held_back_does_not_overwrite_what_others_did_meanwhile(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, other = two(store)
    with monkeypatch.context() as broken:
        failing(broken)
        put(other, PRICE, 1.0)
        put(other, PRICE, 2.0)
        put(other, OTHER, 3.0)
    put(one, PRICE, 9.0)
    other.look()  # as every run of a screen does
    other.retry()
    view = desk_of(store, one.case_id).view
    assert (view[PRICE], view[OTHER]) == (9.0, 3.0)
    (question,) = other.questions
    assert (question.mine[-1].after, question.theirs[-1].after) == (2.0, 9.0)
    other.answer(question, mine=True)
    assert desk_of(store, one.case_id).view[PRICE] == 2.0


def test_a_case_created_by_another_tab_at_the_last_moment(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = new_desk(store, BASE, case_id="demo-abcdefghijkl")
    other = new_desk(store, BASE, case_id="demo-abcdefghijkl")
    create = desk_module.Store.create

    def late(self: Store, *args: Any, **kwargs: Any) -> str:
        monkeypatch.setattr(desk_module.Store, "create", create)
        put(other, PRICE, 9.0)
        return create(self, *args, **kwargs)

    monkeypatch.setattr(desk_module.Store, "create", late)
    put(one, PRICE, 1.0)
    assert desk_of(store, one.case_id).view[PRICE] == 9.0
    assert one.questions[0].theirs[-1].after == 9.0


def test_an_edit_of_a_cell_that_changed_since_it_was_shown_asks(store: Store) -> None:
    one = new_desk(store, BASE)
    put(one, PRICE, 5.0)
    one.do([Edit(PRICE, BASE[PRICE], 7.0)], "typed where the first price still stood")
    assert one.view[PRICE] == 5.0
    assert one.questions[0].mine[0].after == 7.0


def test_an_edit_of_a_row_that_is_gone_asks_and_makes_no_ghost(store: Store) -> None:
    one = new_desk(store, BASE)
    take_out(one, FIRST)
    one.do([Edit(PRICE, BASE[PRICE], 7.0)], "typed late")
    assert PRICE not in one.view
    (question,) = one.questions
    one.answer(question, mine=True)
    assert one.view == {**BASE, PRICE: 7.0}


def test_a_row_taken_out_by_one_and_changed_by_the_other_is_one_question(store: Store) -> None:
    one, other = two(store)
    take_out(one, FIRST)
    cells = [("candidates", FIRST, field) for field in ("price", "capacity_ah", "mass_kg")]
    other.do([Edit(cell, other.view.get(cell), 77.0) for cell in cells], "three cells")
    (question,) = other.questions
    assert len(question.mine) == 3


def test_others_do_not_take_a_redo_away(store: Store) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    one.undo()
    put(other, OTHER, 2.0)
    one.look()
    one.take_in()
    one.redo()
    assert one.view[PRICE] == 1.0


def test_what_is_written_in_part_says_so(store: Store) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    both = [Edit(PRICE, other.view[PRICE], 3.0), Edit(OTHER, other.view[OTHER], 4.0)]
    other.do(both, "two prices")
    assert other.history[-1].words == "two prices (in part)"
    assert other.view[OTHER] == 4.0


def test_the_same_edit_twice_is_no_question(store: Store) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    put(other, PRICE, 1.0)
    assert not other.questions


def test_a_cell_of_a_row_that_somebody_took_out_asks_and_can_bring_it_back(store: Store) -> None:
    one, other = two(store)
    take_out(one, FIRST)
    put(other, PRICE, 2.0)
    (question,) = other.questions
    row = ("candidates", FIRST)
    assert row not in other.view
    # so that it can be told by its name
    assert under(other.about(question), row) == under(BASE, row)
    other.answer(question, mine=True)
    assert other.view == {**BASE, PRICE: 2.0, ("title",): "Two tabs"}
    assert other.about(question) == other.view


def test_taking_out_a_row_that_somebody_changed_asks_and_takes_out_all_or_nothing(
    store: Store,
) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    take_out(other, FIRST)
    assert FIRST in rows(other.view, ("candidates",))
    assert other.view[PRICE] == 1.0
    (question,) = other.questions
    other.answer(question, mine=True)
    assert not under(other.view, ("candidates", FIRST))


def test_emptying_a_cell_of_a_row_that_somebody_took_out_asks_nothing(store: Store) -> None:
    one, other = two(store)
    take_out(one, FIRST)
    put(other, PRICE, None)
    assert not other.questions
    assert PRICE not in other.view


def test_a_row_that_somebody_wrote_more_into_is_not_taken_out_unasked(store: Store) -> None:
    one, other = two(store)
    more = ("candidates", FIRST, "note")
    assert more not in BASE
    put(one, more, "seen at the fair")
    take_out(other, FIRST)
    (question,) = other.questions
    assert [edit.path for edit in question.theirs] == [more]
    assert desk_of(store, one.case_id).view[more] == "seen at the fair"


def test_undo_leaves_a_row_that_others_went_on_with(store: Store) -> None:
    one, other = two(store)
    row = ("candidates", "#new")
    one.do([Edit(row, None, 99.0), Edit((*row, "name"), None, "New")], "a row")
    other.look()
    other.take_in()
    put(other, (*row, "price"), 5.0)
    one.look()
    one.take_in()
    one.undo()
    assert one.view[(*row, "name")] == "New"
    assert one.view[(*row, "price")] == 5.0


def test_what_waits_is_told_once_however_often_one_looks(store: Store) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    assert [step.words for step in other.look()] == ["typed"]
    assert [step.words for step in other.look()] == ["typed"]


def test_a_name_and_what_follows_it_are_asked_about_together(store: Store) -> None:
    """Renamed here and there: what speaks of the name waits for the answer with it."""
    one = new_desk(store, BASE)
    name, row = ("candidates", FIRST, "name"), ("evidence", "#seen")
    speaks = (*row, "candidate")
    one.do([Edit(row, None, 99.0), Edit(speaks, None, BASE[name])], "a report")
    other = desk_of(store, one.case_id)
    put(one, name, "Theirs")
    wanted = [
        Edit(name, BASE[name], "Mine"),
        Edit(speaks, BASE[name], "Mine"),
        Edit(OTHER, BASE[OTHER], 4.0),
    ]
    other.do(wanted, "renamed, and a price")
    (question,) = other.questions
    assert [edit.path for edit in question.mine] == [name, speaks]
    assert other.view[speaks] == BASE[name]
    assert (other.view[name], other.view[OTHER]) == ("Theirs", 4.0)
    other.answer(question, mine=True)
    assert (other.view[name], other.view[speaks]) == ("Mine", "Mine")


def test_a_question_tells_the_last_edit_and_takes_the_place_of_an_older_one(store: Store) -> None:
    one = new_desk(store, BASE)
    put(one, PRICE, 5.0)
    put(one, PRICE, 6.0)
    for late in (7.0, 8.0):
        one.do([Edit(PRICE, BASE[PRICE], late)], "typed where the first price still stood")
        (question,) = one.questions
        assert (question.theirs[0].after, question.mine[-1].after) == (6.0, late)


def test_a_row_comes_back_as_it_was_when_it_was_taken_out_last(store: Store) -> None:
    one = new_desk(store, BASE)
    mass = ("candidates", FIRST, "mass_kg")
    take_out(one, FIRST)
    one.undo()
    put(one, mass, 55.5)
    take_out(one, FIRST)
    one.do([Edit(PRICE, BASE[PRICE], 7.0)], "typed late")
    one.answer(one.questions[0], mine=True)
    assert one.view == {**BASE, PRICE: 7.0, mass: 55.5}


def test_a_return_takes_back_what_others_did_meanwhile_too(store: Store) -> None:
    one, other = two(store)
    put(other, OTHER, 2.0)
    one.return_to(1, "back")
    assert desk_of(store, one.case_id).view == one.view == {**BASE, ("title",): "Two tabs"}


def test_undo_takes_back_ones_own_and_never_what_others_made_of_it(store: Store) -> None:
    one, other = two(store)
    put(one, PRICE, 1.0)
    put(other, OTHER, 2.0)
    one.undo()
    one.look()
    one.take_in()
    assert (one.view[PRICE], one.view[OTHER]) == (BASE[PRICE], 2.0)
    put(one, PRICE, 3.0)
    other.look()
    other.take_in()
    put(other, PRICE, 4.0)
    one.undo()
    assert desk_of(store, one.case_id).view[PRICE] == 4.0
    assert "changed since" in one.history[-1].words


def test_what_cannot_be_written_is_told_stays_and_is_kept_later(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = new_desk(store, BASE)
    put(desk, PRICE, 1.0)

    def full(*_: object, **__: object) -> None:
        raise NotKept("The disk is full.")

    with monkeypatch.context() as broken:
        broken.setattr(desk_module.Store, "append", full)
        put(desk, PRICE, 2.0)
        put(desk, OTHER, 3.0)
        assert "full" in desk.trouble
        assert (desk.view[PRICE], desk.view[OTHER]) == (2.0, 3.0)
        assert len(desk.unkept) == 2
        assert desk_of(store, desk.case_id).view[PRICE] == 1.0
        desk.undo()
        assert desk.view[OTHER] == BASE[OTHER]
        desk.retry()
        assert desk.unkept
    desk.retry()
    assert not desk.trouble
    assert not desk.unkept
    assert desk_of(store, desk.case_id).view == desk.view


def test_two_hundred_edits_of_two_tabs_lose_nothing(store: Store) -> None:
    """Interleaved at random, some on the same cells: the store equals a plain model of answers."""
    random.seed(7)
    tabs = two(store)
    model: dict[Any, Any] = dict(tabs[0].view)
    paths = [("candidates", row, "price") for row in rows(BASE, ("candidates",))[:6]]
    asked = 0
    for number in range(200):
        tab = random.choice(tabs)
        path, value = random.choice(paths), float(number + 10_000)
        put(tab, path, value)
        if tab.questions:
            asked += 1
            keep = random.random() < 0.5
            for question in tab.questions:
                tab.answer(question, mine=keep)
            if keep:
                model[path] = value
        else:
            model[path] = value
        if random.random() < 0.3:
            tab.look()
            tab.take_in()
        assert desk_of(store, tab.case_id).view == model
    assert asked > 10
    for tab in tabs:
        tab.look()
        tab.take_in()
        assert tab.view == model


def test_a_case_as_flat_document_and_back() -> None:
    for name in ("otterbank", "larch_hut", "coldharbour"):
        case = read_case(ROOT / "candidates_demo" / f"{name}.toml")
        data, _ = plain(document_of(case_to_mapping(case)))
        assert case_from_mapping(data) == case


def test_units_in_keys_go_into_the_cell() -> None:
    raw = {"candidates": [{"name": "A", "width_in": 24, "usable_depth_percent": "80"}]}
    document: Document = document_of(raw)
    (row,) = rows(document, ("candidates",))
    assert document[("candidates", row, "width_mm")] == "24 in"
    assert document[("candidates", row, "usable_depth")] == "80 %"


def test_a_cell_of_a_row_that_is_not_there_is_no_row() -> None:
    document = applied(BASE, [Edit(("candidates", FIRST), 1.0, None)])
    data, _ = plain(document)
    assert len(data["candidates"]) == len(rows(BASE, ("candidates",))) - 1


def test_an_edit_that_is_made_already_is_not_in_the_way() -> None:
    path = ("system", "cable_run_m")
    edit = Edit(path, 1.0, 2.0)
    for now, late in ((1.0, ()), (2.0, ()), (3.0, (edit,)), (None, (edit,))):
        assert journal.in_the_way([edit], {} if now is None else {path: now}) == late


def test_one_is_not_true_but_it_is_one() -> None:
    path = ("system", "field")
    assert difference({path: 1}, {path: True}) == (Edit(path, 1, True),)
    assert difference({path: 0.0}, {path: False}) == (Edit(path, 0.0, False),)
    assert difference({path: 1}, {path: 1.0}) == ()


def test_rows_stand_in_the_order_of_their_numbers() -> None:
    table = ("candidates",)
    document = {(*table, "#a"): 2.0, (*table, "#b"): 1.0, (*table, "#c"): 1.5}
    assert rows(document, table) == ("#b", "#c", "#a")
    assert [plain(document)[1][table]] == [("#b", "#c", "#a")]


def test_the_row_of_a_path_is_the_innermost() -> None:
    assert journal.row_of(("a", "#1", "b", "#2", "c")) == ("a", "#1", "b", "#2")
    assert journal.row_of(("a", "#1")) == ("a", "#1")
    assert journal.row_of(("a", "b")) is None


@pytest.mark.parametrize(
    ("value", "unit", "cell"),
    [
        ("24 in", "mm", "24 in"),
        ("80", "percent", "80 %"),
        ("80 %", "percent", "80 %"),
        (20.5, "degf", "20.5 °F"),
        (True, "in", True),
        (" ", "in", " "),
        (3, "", 3),
    ],
)
def test_a_value_gets_the_unit_of_its_key_unless_it_has_one(
    value: Any, unit: str, cell: Any
) -> None:
    assert with_unit(value, unit) == cell


def test_a_field_given_twice_is_shown_twice() -> None:
    """The width in inches beside the one in mm: neither is dropped, so that both are refused."""
    for raw in ({"width_in": 24, "width_mm": 600}, {"width_mm": 600, "width_in": 24}):
        document = document_of({"candidates": [raw]})
        (row,) = rows(document, ("candidates",))
        cells = under(document, ("candidates", row))
        assert cells[("candidates", row, "width_mm")] == 600
        assert cells[("candidates", row, "width_in")] == 24


def test_what_json_does_not_have_is_kept_as_text() -> None:
    document = document_of({"system": {"cable_run_m": float("inf")}})
    assert document == {("system", "cable_run_m"): "inf"}


def test_months_from_one_value_and_months_not_stated() -> None:
    document = document_of({"climate": {"mean_degc": 9.0}})
    path = ("climate", "mean_degc")
    assert document == {(*path, f"{month:02d}"): 9.0 for month in range(1, 13)}
    only_may = {(*path, "05"): 14.0}
    assert plain(only_may)[0] == {"climate": {"mean_degc": [0.0] * 4 + [14.0] + [0.0] * 7}}


def test_a_place_past_the_last_row_has_no_path() -> None:
    table = ("candidates",)
    places = {table: ("#a", "#b")}
    assert path_at(["candidates", 1, "price"], places) == (*table, "#b", "price")
    assert path_at(["candidates", 2, "price"], places) == table
    assert path_at(["climate", "mean_degc", 11], places) == ("climate", "mean_degc", "12")
    assert path_at(["climate", "mean_degc", 12], places) == ("climate", "mean_degc")
