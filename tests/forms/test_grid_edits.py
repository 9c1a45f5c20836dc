"""What is done to grids and fields, as edits of a case; and what they say of themselves."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case import Case, read_case
from tco.case.toml import case_from_mapping, case_to_mapping
from tco.forms import labels
from tco.forms.edit_words import described
from tco.forms.grid_edits import field_edits, rows_added, table_edits, table_sheet
from tco.forms.monthly import (
    Line,
    months_edits,
    months_sheet,
    spreads_edits,
    spreads_sheet,
)
from tco.forms.sheet import report_taken
from tco.workspace.document import document_of, new_row_id, plain, rows
from tco.workspace.edits import Document, applied

ROOT = Path(__file__).resolve().parents[2]

DEMO = read_case(ROOT / "candidates_demo" / "otterbank.toml")
BASE = document_of(case_to_mapping(DEMO))
CANDIDATES = ("candidates",)


def after(document: Document, report: dict[str, Any], table: Any = CANDIDATES) -> Document:
    entries = labels.SECTIONS[table[-1]]
    sheet = table_sheet(document, table, entries, "metric")
    changes = report_taken(sheet, report, new_row_id)
    order = sheet.order()
    edits, _ = table_edits(changes, document, table, entries, "metric", order=order)
    return applied(document, edits)


def read(document: Document) -> Case:
    return case_from_mapping(plain(document)[0])


def test_a_cell_changes_only_itself() -> None:
    case = read(after(BASE, {"edited_rows": {2: {"price": "€ 799,-"}}}))
    changed = DEMO.candidates[2].model_copy(update={"price": 799.0})
    assert case.candidates == (*DEMO.candidates[:2], changed, *DEMO.candidates[3:])
    assert case.model_copy(update={"candidates": DEMO.candidates}) == DEMO


def test_what_is_said_of_a_candidate_follows_its_name_and_goes_with_it() -> None:
    told_of = DEMO.evidence[0].candidate
    place = [c.name for c in DEMO.candidates].index(told_of)
    renamed = after(BASE, {"edited_rows": {place: {"name": "Another name"}}})
    assert {row.candidate for row in read(renamed).evidence if row.source} >= {"Another name"}
    assert told_of not in {row.candidate for row in read(renamed).evidence}
    gone = read(after(BASE, {"deleted_rows": [place]}))
    assert told_of not in {c.name for c in gone.candidates}
    assert told_of not in {row.candidate for row in (*gone.evidence, *gone.marks)}


def test_a_name_typed_over_anothers_by_mistake_takes_nothing_along() -> None:
    told_of = DEMO.evidence[0].candidate
    names = [c.name for c in DEMO.candidates]
    place = names.index(told_of)
    other = next(name for name in names if name != told_of)
    wrong = after(BASE, {"edited_rows": {place: {"name": other}}})
    mended = after(wrong, {"edited_rows": {place: {"name": told_of}}})
    assert read(mended) == DEMO


def test_a_block_pasted_into_one_open_cell_is_taken_apart() -> None:
    block = "Kettle\t900\nLamp\t20\nPump\t60"
    loads = after(BASE, {"added_rows": [{"name": block}]}, ("loads",))
    new = [row for row in rows(loads, ("loads",)) if ("loads", row) not in BASE]
    assert [(loads[("loads", r, "name")], loads[("loads", r, "power_w")]) for r in new] == [
        ("Kettle", 900.0),
        ("Lamp", 20.0),
        ("Pump", 60.0),
    ]


def test_the_first_edit_of_usual_prices_states_them_all() -> None:
    entries = labels.CONDUCTOR_PRICES
    usual = [row.model_dump(mode="json") for row in DEMO.prices.conductors]
    table = ("prices", "conductors")
    document = {p: v for p, v in BASE.items() if p[:2] != table}
    sheet = table_sheet(document, table, entries, "metric", usual)
    changes = report_taken(sheet, {"edited_rows": {1: {"price_per_m": "9.5"}}}, new_row_id)
    edits, _ = table_edits(changes, document, table, entries, "metric", usual=usual)
    priced = read(applied(document, edits)).prices.conductors
    assert len(priced) == len(usual)
    assert priced[1].price_per_m == 9.5
    assert [row.size for row in priced] == [row["size"] for row in usual]


def test_an_optional_section_goes_with_its_last_field() -> None:
    path = ("system", "inverter")
    document = {p: v for p, v in BASE.items() if p[:2] != path}
    power = next(e for e in labels.INVERTER if e.field == "continuous_w")
    typed = applied(document, field_edits(document, path, power, "metric", "1.2 kW"))
    inverter = read({p: v for p, v in typed.items() if p[0] != "loads"}).system.inverter
    assert inverter is not None
    assert inverter.continuous_w == 1200.0
    emptied = field_edits(typed, path, power, "metric", "", optional=True)
    assert applied(typed, emptied) == document


def test_one_month_is_one_edit() -> None:
    solar = rows(BASE, ("sources", "solar"))[0]
    line = Line(("sources", "solar", solar), labels.SHADE, "Light lost")
    sheet = months_sheet(BASE, [line], "metric")
    changes = report_taken(sheet, {"edited_rows": {0: {"Jul": "20"}}}, new_row_id)
    edits, _ = months_edits(changes, BASE, [line], "metric")
    assert [edit.path for edit in edits] == [("sources", "solar", solar, "shade", "07")]
    shade = read(applied(BASE, edits)).sources.solar[0].shade
    assert shade[6] == pytest.approx(0.2)
    assert shade[:6] == DEMO.sources.solar[0].shade[:6]


def test_months_of_a_new_charger_can_be_typed_one_by_one() -> None:
    table = ("sources", "engine")
    edits = rows_added(BASE, table, [{"name": "Second", "rating_a": 20}])
    document = applied(BASE, edits)
    row = rows(document, table)[-1]
    line = Line((*table, row), labels.ENGINE_HOURS, "Engine runs")
    sheet = months_sheet(document, [line], "metric")
    changes = report_taken(sheet, {"edited_rows": {0: {"May": "2"}}}, new_row_id)
    more, _ = months_edits(changes, document, [line], "metric")
    hours = read(applied(document, more)).sources.engine[-1].hours_per_day
    assert hours == (0.0, 0.0, 0.0, 0.0, 2.0, *[0.0] * 7)


def test_an_emptied_month_of_the_climate_is_asked_for_not_taken_as_nought() -> None:
    entry = labels.WEATHER[0]
    line = Line(("climate",), entry, entry.label, None)
    changes = report_taken(
        months_sheet(BASE, [line], "metric"), {"edited_rows": {0: {"Jan": None}}}, new_row_id
    )
    edits, _ = months_edits(changes, BASE, [line], "metric")
    assert edits[0].after == ""


def test_one_end_of_a_spread_states_both() -> None:
    sheet = spreads_sheet(BASE)
    place = sheet.rows.index("pack_price")
    changes = report_taken(sheet, {"edited_rows": {place: {"high": "1,2"}}}, new_row_id)
    edits, _ = spreads_edits(changes, BASE)
    spread = read(applied(BASE, edits)).spreads.pack_price
    assert (spread.low, spread.high) == (DEMO.spreads.pack_price.low, 1.2)


def words(document: Document, report: dict[str, Any], table: Any = CANDIDATES) -> str:
    entries = labels.SECTIONS[table[-1]]
    sheet = table_sheet(document, table, entries, "metric")
    changes = report_taken(sheet, report, new_row_id)
    edits, _ = table_edits(changes, document, table, entries, "metric", order=sheet.order())
    return described(edits, document, "metric", "€")


def test_edits_say_what_they_do() -> None:
    fell = [c.name for c in DEMO.candidates].index("Fell 24/230")
    assert words(BASE, {"edited_rows": {fell: {"price": "1490"}}}) == (
        "price of Fell 24/230: 1,590 to 1,490"
    )
    assert words(BASE, {"edited_rows": {fell: {"usable_depth": "85"}}}).startswith(
        "usable of Fell 24/230: "
    )
    assert words(BASE, {"edited_rows": {fell: {"mass_kg": ""}}}) == (
        "mass of Fell 24/230: emptied, was 49.5 kg"
    )
    assert words(BASE, {"deleted_rows": [fell]}).startswith("candidate taken out: Fell 24/230")
    assert words(BASE, {"added_rows": [{"name": "Kettle"}, {"name": "Lamp"}]}, ("loads",)) == (
        "2 loads added: Kettle, Lamp"
    )
    many = {n: {"price": str(500 + n)} for n in range(6)}
    assert words(BASE, {"edited_rows": many}).endswith("and 3 more")


values = st.sampled_from(["", "12", "1e3", "-5", "lots", "24 lb", "4000 @ 80 %", "yes", "0", "%"])


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 5), st.sampled_from([e.field for e in labels.CANDIDATE]), values),
        max_size=12,
    )
)
def test_a_grid_made_of_a_case_shows_what_was_typed(typed: list[tuple[int, str, str]]) -> None:
    """Whatever is typed, the document holds it: a grid made of it shows it again."""
    document: Document = BASE
    sheet = table_sheet(document, CANDIDATES, labels.CANDIDATE, "metric")
    edited: dict[int, dict[str, str]] = {}
    for row, column, text in typed:
        edited.setdefault(row, {})[column] = text
        changes = report_taken(sheet, {"edited_rows": edited}, new_row_id)
        edits, _ = table_edits(changes, document, CANDIDATES, labels.CANDIDATE, "metric")
        document = applied(document, edits)
        again = table_sheet(document, CANDIDATES, labels.CANDIDATE, "metric")
        shown = dict(again.shown())[sheet.rows[row]].get(column, "")
        assert shown == text or float(shown) == float(text)
