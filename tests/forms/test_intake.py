"""What the rows of a shop's table are to those that are there, and what taking them in changes."""

from pathlib import Path
from typing import Any

import pytest

from tco.forms.intake import Choice, Difference, Fate, against, changes, usual_choice
from tco.forms.shop_columns import read_table
from tco.forms.shop_table import rows_of
from tco.forms.table_words import counts_words, difference_words, fate_words

ROOT = Path(__file__).resolve().parents[2]
HEAD = "Model,Brand,Type,Voltage,Capacity,Weight (lb),Price,Colour,Notes\n"
BRAE = "Brae 100,Tarnwick,LiFePO4,12.8,100,24.3,219,red,\n"
TARN = "Tarn 200,Tarnwick,LiFePO4,12.8,200,48,399,,\n"
HERE: dict[str, Any] = {
    "name": "Brae 100",
    "maker": "Tarnwick",
    "chemistry": "lfp",
    "nominal_voltage_v": 12.8,
    "capacity_ah": "100",
    "mass_kg": "24.3 lb",
    "price": 219.0,
    "notes": "mine",
    "other": {"Colour": "red", "Shelf": "A"},
}


def fates(table: str, present: list[dict[str, Any]]) -> tuple[Fate, ...]:
    return against(rows_of(read_table(table)), present)


def kinds(table: str, present: list[dict[str, Any]]) -> list[str]:
    return [fate.kind for fate in fates(table, present)]


def taken(
    table: str, present: list[dict[str, Any]], choices: dict[int, Choice] | None = None
) -> list[dict[str, Any]]:
    """The rows after the table was taken in, as the screen does it."""
    intake = changes(fates(table, present), choices or {}, present)
    after = [dict(row) for row in present]
    for place, cells in intake.updated:
        after[place].update(cells)
    return [*after, *intake.added]


def test_rows_are_new_the_same_or_changed() -> None:
    assert kinds(HEAD + BRAE + TARN, []) == ["new", "new"]
    assert kinds(HEAD + BRAE + TARN, [HERE]) == ["same", "new"]
    assert kinds(HEAD + BRAE, [{**HERE, "price": 199}]) == ["changed"]


@pytest.mark.parametrize(
    "written",
    [
        {"name": "BRAE 100", "maker": "tarnwick"},
        {"name": " Brae  100 "},
        {"name": "Brae100", "maker": "Tarn wick"},
        {"maker": ""},
        {"chemistry": "LiFePO4", "nominal_voltage_v": "12,8 V", "price": "€ 219,-"},
        {"mass_kg": 11.022294591},
    ],
)
def test_the_same_however_it_is_written(written: dict[str, Any]) -> None:
    (fate,) = fates(HEAD + BRAE, [{**HERE, **written}])
    assert fate.kind == ("changed" if written == {"maker": ""} else "same")
    assert fate.at == 0


def test_another_maker_is_another_pack() -> None:
    present = [{**HERE, "maker": "Sorrelby"}]
    assert kinds(HEAD + BRAE, present) == ["new"]
    assert [row["name"] for row in taken(HEAD + BRAE, present)] == ["Brae 100", "Brae 100 (2)"]


def test_the_row_of_the_very_maker_is_taken_first() -> None:
    present = [{"name": "Brae 100", "price": 1}, {**HERE, "price": 1}]
    (fate,) = fates(HEAD + BRAE, present)
    assert fate.at == 1


@pytest.mark.parametrize("demo", ["otterbank", "larch_hut", "coldharbour"])
def test_a_table_loaded_twice_changes_nothing(demo: str) -> None:
    text = (ROOT / "candidates_demo" / f"{demo}_candidates.csv").read_text(encoding="utf-8")
    once = taken(text, [])
    again = fates(text, once)
    assert {fate.kind for fate in again} == {"same"}
    assert changes(again, {}, once).words == "nothing to change"
    assert taken(text, once) == once


def test_a_table_with_mistakes_loaded_twice_changes_nothing() -> None:
    text = f"{HEAD}{BRAE.replace(',100,', ',plenty,')}{TARN}{BRAE.replace('Brae 100', '')}"
    once = taken(text, [])
    assert once[0]["capacity_ah"] == "plenty"
    assert len(once) == 3
    assert kinds(text, once) == ["same", "same", "same"]
    assert taken(text, once) == once


def test_an_update_sets_what_differs_and_keeps_what_the_shop_leaves_empty() -> None:
    row = BRAE.replace("219", "199").replace("red", "blue")
    (fate,) = fates(HEAD + row, [HERE])
    assert [(d.field, d.column, d.before, d.after) for d in fate.differences] == [
        ("price", "", 219.0, 199.0),
        ("other", "Colour", "red", "blue"),
    ]
    intake = changes((fate,), {}, [HERE])
    assert intake.added == ()
    assert intake.updated == ((0, {"price": 199.0, "other": {"Colour": "blue", "Shelf": "A"}}),)
    assert intake.words == "1 updated"


def test_what_cannot_be_read_replaces_nothing() -> None:
    row = BRAE.replace("219", "199").replace(",100,", ",plenty,")
    (after,) = taken(HEAD + row, [HERE])
    assert after["capacity_ah"] == "100"
    assert after["price"] == "199"


def test_a_range_as_typed_is_the_end_that_was_read_of_it() -> None:
    table = "Model,Type,V,Ah,Price,Cycles\nBrae,AGM,12,100,99,4000-6000\n"
    there = {"name": "Brae", "chemistry": "agm", "nominal_voltage_v": 12, "capacity_ah": 100}
    assert kinds(table, [{**there, "price": 99, "rated_cycles": "4000-6000"}]) == ["same"]
    assert kinds(table, [{**there, "price": 99, "rated_cycles": "3000-6000"}]) == ["changed"]


def test_added_as_another_it_gets_a_number_and_is_known_again() -> None:
    row = BRAE.replace("219", "199")
    twice = taken(HEAD + row, [HERE], {2: "add"})
    assert [r["name"] for r in twice] == ["Brae 100", "Brae 100 (2)"]
    assert twice[0] == HERE
    assert kinds(HEAD + row, twice) == ["same"]
    thrice = taken(HEAD + row, twice, {2: "add"})
    assert thrice[2]["name"] == "Brae 100 (3)"


def test_a_name_that_ends_in_a_number_of_its_own_is_not_another() -> None:
    assert kinds(HEAD + BRAE.replace("Brae 100", "Brae (2)"), [{**HERE, "name": "Brae"}]) == ["new"]


def test_left_out_it_changes_nothing() -> None:
    table = HEAD + BRAE.replace("219", "199") + TARN
    assert taken(table, [HERE], {2: "leave out", 3: "leave out"}) == [HERE]
    intake = changes(fates(table, [HERE]), {2: "leave out"}, [HERE])
    assert intake.words == "1 added, 1 left out"


def test_a_row_doubled_in_the_table() -> None:
    first, second, third = fates(HEAD + BRAE + BRAE + BRAE.replace("219", "199"), [])
    assert (first.kind, second.kind, third.kind) == ("new", "doubled", "doubled")
    assert (second.of, second.differences) == (2, ())
    assert [d.field for d in third.differences] == ["price"]
    assert [usual_choice(fate) for fate in (first, second, third)] == ["add", "leave out", "add"]


def test_a_doubled_row_is_added_under_a_number_or_put_into_the_row_above() -> None:
    table = HEAD + BRAE + BRAE.replace("219", "199")
    assert [row["name"] for row in taken(table, [])] == ["Brae 100", "Brae 100 (2)"]
    (merged,) = taken(table, [], {3: "update"})
    assert merged["price"] == 199.0
    (there,) = taken(table, [HERE], {3: "update"})
    assert (there["price"], there["notes"]) == (199.0, "mine")
    both = taken(table, [])
    assert kinds(table, both) == ["same", "same"]


def test_a_doubled_row_whose_first_is_left_out_is_added() -> None:
    table = HEAD + BRAE + BRAE.replace("219", "199")
    (only,) = taken(table, [], {2: "leave out", 3: "update"})
    assert (only["name"], only["price"]) == ("Brae 100", 199.0)


def test_what_is_done_with_all_that_are_here() -> None:
    same, changed, new = (
        fates(HEAD + BRAE, [HERE])[0],
        fates(HEAD + BRAE, [{**HERE, "price": 1}])[0],
        fates(HEAD + BRAE, [])[0],
    )
    assert [usual_choice(changed, choice) for choice in ("update", "add", "leave out")] == [
        "update", "add", "leave out",
    ]  # fmt: skip
    assert usual_choice(same, "add") == "leave out"
    assert usual_choice(new, "leave out") == "add"


def test_words() -> None:
    table = read_table(HEAD + BRAE + TARN + TARN + BRAE.replace("Brae 100", "Fell"))
    found = against(rows_of(table), [{**HERE, "price": 229.0, "mass_kg": 10.0}])
    assert counts_words(found) == "4 candidates: 2 new, 1 changed, 1 repeating a row above."
    mass = next(d for d in found[0].differences if d.field == "mass_kg")
    assert difference_words(mass, "metric", "€") == "Mass 10 → 11.02 kg"
    assert difference_words(mass, "imperial", "€") == "Mass 22.05 → 24.3 lb"
    assert fate_words(found[0], table, "metric", "€") == (
        "changed: Mass 10 → 11.02 kg; Price 229 → 219 €"
    )
    assert fate_words(found[1], table, "metric", "€") == "new"
    assert fate_words(found[2], table, "metric", "€") == "as row 3"
    typed = Difference("price", 229.0, "€ 219,-")
    assert difference_words(typed, "metric", "€") == "Price 229 → € 219,-"
    kept = Difference("other", None, "red", "Colour")
    assert difference_words(kept, "metric", "€") == "Colour: (empty) → red"
    broken = fates(HEAD + BRAE.replace("219", "cheap"), [])
    assert counts_words(broken) == "1 candidate: 1 new; 1 with something to mend."


def test_a_long_list_is_compared_in_reasonable_steps() -> None:
    text = HEAD + "".join(BRAE.replace("Brae 100", f"Brae {n}") for n in range(400))
    once = taken(text, [])
    assert len(once) == 400
    assert kinds(text, once) == ["same"] * 400
