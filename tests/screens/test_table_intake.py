"""The panel that takes a shop's table in."""

import json
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from tests.forms.test_intake import BRAE, HEAD, HERE, TARN

BUTTON = "Put them into the grid"


def script() -> None:
    """A screen that holds nothing but the panel, and rows."""
    import streamlit as st

    from tco.forms.intake import Intake
    from tco.screens import table_intake

    def take(intake: Intake) -> None:
        for place, cells in intake.updated:
            st.session_state.rows[place].update(cells)
        st.session_state.rows += intake.added
        st.session_state.taken = intake

    st.session_state.setdefault("rows", [])
    table_intake.panel(st.session_state.rows, st.session_state.get("units", "metric"), "€", take)


def opened(rows: list[dict[str, Any]] | None = None, units: str = "metric") -> AppTest:
    app = AppTest.from_function(script, default_timeout=30)
    app.session_state["rows"] = [dict(row) for row in rows or []]
    app.session_state["units"] = units
    return app.run()


def paste(app: AppTest, text: str) -> AppTest:
    app.text_area(key="shop paste").set_value(text).run()
    assert not app.exception, [error.message for error in app.exception]
    return app


def button(app: AppTest) -> Any:
    return next(b for b in app.button if b.label == BUTTON)


def text(app: AppTest) -> str:
    shown = (*app.markdown, *app.caption, *app.info, *app.warning, *app.error, *app.success)
    return "\n".join(str(element.value) for element in shown).replace("\\", "")


def choose(app: AppTest, label: str, value: str) -> AppTest:
    next(box for box in app.selectbox if box.label == label).set_value(value).run()
    assert not app.exception
    return app


def test_nothing_is_asked_before_a_table_is_there() -> None:
    app = opened()
    assert not app.exception
    assert not app.button
    assert not app.selectbox


def test_a_table_is_shown_matched_and_taken() -> None:
    app = paste(opened([HERE]), HEAD + BRAE.replace("219", "199") + TARN)
    assert "1 column was not understood: “Colour”. It stays" in text(app)
    assert "2 candidates: 1 new, 1 changed." in text(app)
    button(app).click().run()
    assert not app.exception
    assert [row["name"] for row in app.session_state["rows"]] == ["Brae 100", "Tarn 200"]
    assert app.session_state["rows"][0]["price"] == 199.0
    assert app.session_state["rows"][0]["notes"] == "mine"
    assert "Done: 1 added, 1 updated." in text(app)
    assert "2 candidates: 2 the same as here." in text(app)
    assert button(app).disabled


def test_what_was_done_is_told_until_the_rows_are_changed_elsewhere() -> None:
    app = paste(opened(), HEAD + TARN)
    button(app).click().run()
    assert "Done" in text(app.run())
    app.session_state["rows"] = []
    assert "Done" not in text(app.run())


def test_columns_not_understood_come_first_and_can_be_given_a_meaning() -> None:
    app = paste(opened(), "Model,Type,V,Ah,Price,Heft\nBrae,AGM,12,100,99,60\n")
    labels = [box.label for box in app.selectbox if box.label.endswith(" means")]
    assert labels[:2] == ["Heft means", "Model means"]
    choose(app, "Heft means", "mass_kg")
    choose(app, "Heft is in", "lb")
    assert "not understood" not in text(app)
    button(app).click().run()
    (row,) = app.session_state["rows"]
    assert row["mass_kg"] == pytest.approx(60 * 0.45359237)
    assert "other" not in row


def test_a_column_is_left_out() -> None:
    app = choose(paste(opened(), HEAD + BRAE), "Colour means", "leave out")
    assert "not understood" not in text(app)
    button(app).click().run()
    assert "other" not in app.session_state["rows"][0]


def test_another_table_starts_afresh() -> None:
    app = choose(paste(opened(), HEAD + BRAE), "Colour means", "leave out")
    paste(app, HEAD + BRAE + TARN)
    assert "not understood: “Colour”" in text(app)


def test_a_strange_unit_is_asked_for() -> None:
    app = paste(opened(), "Model,Type,V,Ah,Price,Weight (stone)\nBrae,AGM,12,100,99,60\n")
    assert "“stone”, which is no unit of Mass" in text(app)
    choose(app, "Weight (stone) is in", "lb")
    assert "stone”, which" not in text(app)
    assert "something to mend" not in text(app)


def test_all_that_are_here_are_added_as_others() -> None:
    app = paste(opened([HERE]), HEAD + BRAE.replace("219", "199"))
    app.radio[0].set_value("add").run()
    button(app).click().run()
    assert [row["name"] for row in app.session_state["rows"]] == ["Brae 100", "Brae 100 (2)"]
    assert app.session_state["rows"][0] == HERE


def test_one_row_is_left_out() -> None:
    app = paste(opened([HERE]), HEAD + BRAE.replace("219", "199") + TARN)
    app.session_state[app.dataframe[0].key] = {
        "edited_rows": {1: {"choice": "leave out"}},
        "added_rows": [],
        "deleted_rows": [],
    }
    app.run()
    button(app).click().run()
    assert [row["name"] for row in app.session_state["rows"]] == ["Brae 100"]
    assert "Done: 1 updated, 1 left out." in text(app)


def test_mistakes_are_told_row_by_row_and_taken_as_typed() -> None:
    app = paste(opened(), HEAD + BRAE.replace(",100,", ",plenty,") + TARN)
    assert "1 with something to mend" in text(app)
    assert "Row 2, Brae 100 — Capacity: 'plenty' under 'Capacity' is not a number" in text(app)
    button(app).click().run()
    assert app.session_state["rows"][0]["capacity_ah"] == "plenty"


def test_what_is_no_table_is_told() -> None:
    app = paste(opened(), '"never closed ' + "x" * 200_000)
    assert "quotation mark" in text(app)
    assert not app.button
    app = paste(opened(), "just some words")
    assert "no row of headings" in text(app)


def test_what_people_typed_is_shown_as_it_is() -> None:
    app = paste(opened(), "Model,$x$ *b*,V\nBrae,`c`,12\n")
    shown = [str(m.value) for m in (*app.markdown, *app.info)]
    assert any("\\$x\\$ \\*b\\*" in value for value in shown)


@pytest.mark.parametrize(("units", "heading"), [("metric", "Mass [kg]"), ("imperial", "Mass [lb]")])
def test_the_preview_is_in_the_units_of_the_case(units: str, heading: str) -> None:
    app = paste(opened(units=units), HEAD + BRAE)
    columns = json.loads(app.dataframe[0].proto.columns)
    assert columns["mass_kg"]["label"] == heading
    shown = float(app.dataframe[0].value["mass_kg"][0])
    assert shown == pytest.approx(24.3 if units == "imperial" else 24.3 * 0.45359237, rel=1e-3)


def test_a_file_that_came_last_is_looked_at() -> None:
    app = paste(opened(), HEAD + BRAE)
    app.file_uploader(key="shop file").set_value(
        ("packs.csv", (HEAD + TARN + TARN).encode(), "text/csv")
    ).run()
    assert "2 candidates: 1 new, 1 repeating a row above." in text(app)
    paste(app, HEAD + BRAE)
    app.text_area(key="shop paste").set_value(HEAD + BRAE + "\n").run()
    assert "1 candidate: 1 new." in text(app)
