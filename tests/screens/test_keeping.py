"""A case is kept as it is typed: reload, undo, history, two sessions, and where it cannot be."""

from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from tco.screens import case_list, opening
from tco.workspace.edits import Edit
from tco.workspace.schema.stored import NotKept, NotRead
from tco.workspace.store import Store, open_store
from tests.screens.helpers import (
    ROOT,
    field_key,
    held,
    report_to_grid,
    sentence,
    shown_problems,
    type_into_grid,
)


def opened(screen: str = "prices", address: str = "otterbank") -> AppTest:
    app = AppTest.from_file(str(ROOT / f"tco/screens/{screen}.py"), default_timeout=60)
    app.query_params["case"] = address
    return app.run()


def put(app: AppTest, field: str, text: str) -> AppTest:
    return app.text_input(key=field_key(app, field)).set_value(text).run()


def press(app: AppTest, label: str) -> AppTest:
    return next(b for b in app.button if b.label == label or b.key == label).click().run()


def effect(app: AppTest) -> str:
    return next((str(c.value) for c in app.caption if "—" in str(c.value)), "").replace("\\", "")


def test_an_edit_is_kept_under_the_address_and_comes_back(  # as after a reload or a restart
) -> None:
    app = opened()
    address = held(app).desk.case_id
    assert address not in {info.id for info in opening.store().cases()}  # nothing was edited yet
    put(app, "assumptions.horizon_years", "12")
    assert app.query_params["case"] == address
    assert address in {info.id for info in opening.store().cases()}
    again = opened("prices", address)
    assert held(again).case.assumptions.horizon_years == 12
    assert held(again).desk.case_id == address


def test_a_demo_that_nobody_edits_is_kept_nowhere_and_still_has_an_address() -> None:
    app = opened()
    address = held(app).desk.case_id
    assert held(opened("answer", address)).case.title == "The Otterbank"
    assert address not in {info.id for info in opening.store().cases()}


def test_undo_and_redo_on_the_screen() -> None:
    app = opened()
    before = sentence(app)
    put(app, "assumptions.horizon_years", "12")
    assert "12 years" in sentence(app)
    press(app, "undo")
    assert sentence(app) == before
    assert app.text_input(key=field_key(app, "assumptions.horizon_years")).value == "10"
    press(app, "redo")
    assert "12 years" in sentence(app)
    assert app.text_input(key=field_key(app, "assumptions.horizon_years")).value == "12"


def test_undo_shows_in_the_grid() -> None:
    app = opened("candidates")
    name = "candidates metric €"
    type_into_grid(app, "candidates", edited_rows={0: {"price": "999"}}, deleted_rows=[3])
    assert len(held(app).case.candidates) == 16
    press(app, "undo")
    assert len(held(app).case.candidates) == 17
    frame = held(app).grids[name].frame
    assert frame["price"].iloc[0] == "219"
    assert len(frame) == 17


def test_what_the_last_edit_did_is_one_line() -> None:
    app = opened()
    put(app, "prices.day_without_power_price", "200")
    assert effect(app).startswith("A day without power: 65 to 200 — first")
    assert "total €" in effect(app)
    assert "without power" in effect(app)
    put(app, "title", "Another name")
    assert effect(app) == "title: The Otterbank to Another name — the answer is as before"


def test_back_to_a_moment() -> None:
    app = opened()
    for years in ("11", "12", "13"):
        put(app, "assumptions.horizon_years", years)
    held(app).desk.return_to(1, "back")
    held(app).changed("back")
    app.run()
    assert "11 years" in sentence(app)
    assert app.text_input(key=field_key(app, "assumptions.horizon_years")).value == "11"
    assert [step.kind for step in held(app).desk.history] == ["edit", "edit", "edit", "return"]


def test_two_sessions_are_told_of_one_another_and_asked() -> None:
    one = put(opened(), "assumptions.horizon_years", "12")
    address = held(one).desk.case_id
    other = opened("prices", address)
    put(one, "prices.inflation", "3")
    put(other, "prices.labour_per_hour", "70")
    told = [str(i.value) for i in other.info]
    assert any("Somebody else on this case" in text and "inflation" in text for text in told)
    assert held(other).case.prices.inflation == 0.02  # not pushed under typing hands
    press(other, "Show it here")
    assert held(other).case.prices.inflation == pytest.approx(0.03)
    assert other.text_input(key=field_key(other, "prices.inflation")).value == "3"
    # the same field in both
    put(one, "prices.tax_rate", "5")
    put(other, "prices.tax_rate", "7")
    assert any("changed the same" in str(w.value) for w in other.warning)
    assert held(other).case.prices.tax_rate == pytest.approx(0.05)
    press(other, "Take mine")
    assert held(other).case.prices.tax_rate == pytest.approx(0.07)
    assert not other.warning
    assert held(opened("prices", address)).case.prices.tax_rate == pytest.approx(0.07)


def test_where_nothing_can_be_written_it_is_told_and_kept_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = tmp_path / "cases"
    in_the_way.write_text("a file where the folder should be")
    monkeypatch.setenv("TCO_FOLDER", str(in_the_way))
    store = open_store()
    monkeypatch.setattr(opening, "store", lambda: store)
    app = opened()
    put(app, "assumptions.horizon_years", "12")
    assert not app.exception
    assert any("1 edit not kept" in str(e.value) for e in app.error)
    assert app.text_input(key=field_key(app, "assumptions.horizon_years")).value == "12"
    assert "12 years" in sentence(app)
    put(app, "prices.inflation", "3")
    assert any("2 edits not kept" in str(e.value) for e in app.error)
    in_the_way.unlink()
    press(app, "Try again")
    assert not app.error
    (info,) = store.cases()
    assert info.steps == 2
    again = opened("prices", info.id)
    assert held(again).case.prices.inflation == pytest.approx(0.03)
    store.close()


def test_a_damaged_case_is_put_aside_and_named_and_the_rest_opens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TCO_FOLDER", str(tmp_path))
    store = open_store()
    monkeypatch.setattr(opening, "store", lambda: store)
    good = put(opened(), "title", "Good")
    bad = put(opened(), "title", "Bad")
    address = held(bad).desk.case_id
    store.close()
    (file,) = tmp_path.glob(f"{address}.*")
    file.write_bytes(b"no database " * 100)
    store = open_store()
    monkeypatch.setattr(opening, "store", lambda: store)
    app = opened("prices", address)
    assert not app.exception
    assert any("was not opened" in str(e.value) for e in app.error)
    assert held(app).case.title == "The Otterbank"
    assert held(opened("prices", held(good).desk.case_id)).case.title == "Good"
    assert [info.title for info in store.cases()] == ["Good"]
    assert store.put_aside()
    store.close()


def test_an_address_that_is_nothing_is_told() -> None:
    for address in (
        "nonsense",
        "../../etc/passwd",
        "a" * 500,
        "some-case-abcdefghijkl",
        "otterbank-A.",
        'otterbank-"><img src=x>',
    ):
        app = opened("answer", address)
        assert not app.exception
        assert "was not opened" in shown_problems(app)
        assert held(app).case.title == "The Otterbank"


@pytest.fixture
def cases() -> Any:
    """The screen with its list of cases open."""

    def screen(address: str = "otterbank") -> AppTest:
        app = opened("prices", address)
        app.session_state["cases open"] = True
        return app.run()

    return screen


def test_cases_are_listed_renamed_duplicated_and_taken_off(cases: Any) -> None:
    app = cases()
    put(app, "assumptions.horizon_years", "12")
    first = held(app).desk.case_id
    name = next(f for f in app.text_input if f.label == "Name of this case")
    name.set_value("Mine").run()
    assert held(app).case.title == "Mine"
    press(app, "Duplicate this case")
    copy = held(app).desk.case_id
    assert copy != first
    assert held(app).case.title == "Mine (copy)"
    assert held(app).case.assumptions.horizon_years == 12
    titles = {info.id: info.title for info in opening.store().cases()}
    assert (titles[first], titles[copy]) == ("Mine", "Mine (copy)")
    press(app, f"case {first}")
    assert held(app).desk.case_id == first
    press(app, "Take it off the list")
    assert first not in {info.id for info in opening.store().cases()}
    assert held(app).case.title == "The Otterbank"


def test_every_case_can_be_opened_from_the_list_however_many_there_are(
    cases: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(case_list, "MOST_SHOWN", 1)
    made = [opening.store().create({("title",): title}, title=title) for title in ("Old", "New")]
    app = cases()
    older = next(box for box in app.selectbox if box.key == "older case")
    assert made[0] in {info.id for info in opening.store().cases()[1:]}
    older.set_value(made[0]).run()
    press(app, "Open it")
    assert held(app).desk.case_id == made[0]


def test_a_case_taken_along_comes_back_with_all_its_history() -> None:
    app = opened("candidates")
    type_into_grid(app, "candidates", edited_rows={0: {"capacity_ah": "plenty"}})
    type_into_grid(app, "candidates", edited_rows={0: {"capacity_ah": "plenty"}, 1: {"price": "1"}})
    file = opening.file_of(held(app)).encode()
    view = dict(held(app).view)
    again = opened("candidates")
    problems, workspace = open_here(("case.json", file))
    assert problems == ()
    assert dict(workspace.view) == view
    assert [s.words for s in workspace.desk.history] == [s.words for s in held(app).desk.history]
    assert workspace.log == held(app).log
    assert held(again).desk.case_id != workspace.desk.case_id


def open_here(case: tuple[str, bytes]) -> tuple[Any, Any]:
    session: dict[str, Any] = {}
    params: dict[str, Any] = {}
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(opening.st, "session_state", session)
        patched.setattr(opening.st, "query_params", params)
        problems = opening.open_files(case)
    return problems, session.get("workspace")


def test_after_a_reload_a_mistake_still_rests_on_the_value_before() -> None:
    app = opened("system")
    put(app, "system.cable_run_m", "5")
    put(app, "system.cable_run_m", "far")
    again = opened("system", held(app).desk.case_id)
    assert held(again).case.system.cable_run_m == 5.0
    assert held(again).case.system.nominal_voltage_v == 24
    assert "“far” is not a number" in shown_problems(again)
    assert again.text_input(key=field_key(again, "system.cable_run_m")).value == "far"


def test_a_case_left_with_something_unkept_is_there_on_return(
    monkeypatch: pytest.MonkeyPatch, cases: Any
) -> None:
    app = cases()
    put(app, "assumptions.horizon_years", "11")
    own = held(app).desk.case_id

    def full(*_: object, **__: object) -> None:
        raise NotKept("The disk is full.")

    with monkeypatch.context() as broken:
        broken.setattr(Store, "append", full)
        put(app, "assumptions.horizon_years", "17")
        press(app, "Start an empty case")
        assert held(app).case.title == "My case"
        press(app, f"unkept {own}")
        assert held(app).case.assumptions.horizon_years == 17
        assert any("not kept" in str(e.value) for e in app.error)
    press(app, "Try again")
    assert held(opened("prices", own)).case.assumptions.horizon_years == 17


def test_a_case_that_cannot_be_read_now_keeps_its_address(monkeypatch: pytest.MonkeyPatch) -> None:
    own = held(put(opened(), "title", "Mine")).desk.case_id

    def away(*_: object, **__: object) -> None:
        raise NotRead("The database is away.")

    with monkeypatch.context() as broken:
        broken.setattr(Store, "read", away)
        app = opened("prices", own)
        assert not app.exception
        assert app.query_params["case"] == own
        assert any("away" in str(e.value) for e in app.error)
    press(app, "Try again")
    assert held(app).case.title == "Mine"


def test_the_address_of_a_case_taken_off_the_list_says_so_and_puts_it_back(cases: Any) -> None:
    app = cases()
    put(app, "title", "Gone")
    own = held(app).desk.case_id
    press(app, "Take it off the list")
    again = opened("prices", own)
    assert "taken off the list" in shown_problems(again)
    press(again, "Put it back on the list")
    assert held(again).case.title == "Gone"
    assert own in {info.id for info in opening.store().cases()}


def test_usual_prices_typed_over_in_two_sessions_both_stand() -> None:
    one = put(opened(), "title", "Two")
    address = held(one).desk.case_id
    other = opened("prices", address)
    type_into_grid(one, "prices.conductors", edited_rows={0: {"price_per_m": "7.5"}})
    type_into_grid(other, "prices.conductors", edited_rows={1: {"price_per_m": "8.5"}})
    assert not held(other).desk.questions
    both = held(opened("prices", address)).case.prices.conductors
    assert [row.price_per_m for row in both[:2]] == [7.5, 8.5]


def test_a_report_of_what_is_shown_no_longer_asks() -> None:
    app = opened("candidates")
    name = "candidates metric €"
    key = held(app).grids[name].key
    row = held(app).grids[name].sheet.rows[0]
    path = ("candidates", row, "price")
    held(app).commit([Edit(path, held(app).view[path], 111.0)])
    report_to_grid(app, key, {"edited_rows": {0: {"price": "222"}}})
    assert held(app).view[path] == 111.0
    assert any("Yours, not taken yet" in str(w.value) for w in app.warning)
    press(app, f"Take mine {'.'.join(path)}")
    assert held(app).view[path] == 222.0
