"""An edit changes the answer; bad input is kept as typed and explained, and the answer stays."""

import pytest

from tco.compare import compare
from tco.report.answer.words import answer
from tco.report.frames import words
from tests.screens.helpers import (
    Opened,
    field_key,
    held,
    sentence,
    shown_problems,
    type_into_grid,
)


def test_a_dearer_pack_changes_the_answer(opened: Opened) -> None:
    app = opened("candidates")
    before = held(app).comparison
    assert before is not None
    assert before.best is not None
    best = before.best.arrangement.pack.name
    row = [candidate.name for candidate in held(app).case.candidates].index(best)
    type_into_grid(app, "candidates", edited_rows={row: {"price": "€ 9.999,-"}})
    after = held(app).comparison
    assert not held(app).problems
    assert held(app).case.candidates[row].price == 9999.0
    assert after is not None
    assert after.best is not None
    assert after.best.arrangement.pack.name != best


def test_a_candidate_is_added_and_taken_out(opened: Opened) -> None:
    app = opened("candidates", "")
    assert "No candidate yet" in sentence(app)
    new = {
        "name": "New 100",
        "chemistry": "lfp",
        "nominal_voltage_v": "12,8 V",
        "capacity_ah": "100",
        "price": "250",
        "mass_kg": "24.25 lb",
        "low_temperature_cutoff": "yes",
    }
    type_into_grid(app, "candidates", added_rows=[new])
    assert not shown_problems(app)
    candidate = held(app).case.candidates[0]
    assert candidate.nominal_voltage_v == 12.8
    assert candidate.mass_kg == pytest.approx(24.25 * 0.45359237)
    assert candidate.low_temperature_cutoff is True
    type_into_grid(app, "candidates", added_rows=[])
    assert held(app).case.candidates == ()


def test_a_row_taken_out_leaves_the_others_exactly(opened: Opened) -> None:
    app = opened("candidates")
    before = held(app).case.candidates
    type_into_grid(app, "candidates", deleted_rows=[2])
    assert held(app).case.candidates == (*before[:2], *before[3:])


def test_a_mistake_stays_where_it_was_typed_and_the_answer_goes_on(opened: Opened) -> None:
    app = opened("candidates")
    first, second = held(app).case.candidates[:2]
    count = len(held(app).case.candidates)
    edits = {0: {"capacity_ah": "lots", "usable_depth": "180"}, 1: {"name": ""}}
    type_into_grid(app, "candidates", edited_rows=edits)
    told = shown_problems(app)
    assert not app.exception
    assert f"Capacity of {first.name}: “lots” is not a number. Allowed: " in told
    assert f"Usable of {first.name}: “180” is too large. Allowed: " in told
    assert "100 %. Until then" in told  # a share is told in percent
    assert f"Until then the candidate {first.name} is left out." in told
    assert f"Not read: capacity of {first.name} (left out: the candidate {first.name})" in told
    # the answer goes on without the two
    names = [candidate.name for candidate in held(app).case.candidates]
    assert len(names) == count - 2
    assert not {first.name, second.name} & set(names)
    assert held(app).comparison is not None
    rows = held(app).rows(("candidates",))
    assert rows[0]["capacity_ah"] == "lots"
    # once somebody does anything else, the grid marks the cell
    app.run()
    frame = next(g.frame for n, g in held(app).grids.items() if n.startswith("candidates "))
    assert frame["capacity_ah"].iloc[0] == "⚠ lots"
    # mended, the answer follows again
    mended = {0: {"capacity_ah": "90", "usable_depth": "90"}}
    type_into_grid(app, "candidates", edited_rows=mended)
    assert [m.path[-1] for m in held(app).mistakes] == ["name"]
    fixed = {**mended, 1: {"name": "Again"}}
    type_into_grid(app, "candidates", edited_rows=fixed)
    assert not held(app).problems
    assert held(app).case.candidates[0].capacity_ah == 90.0
    assert len(held(app).case.candidates) == count


def test_a_field_takes_any_unit_and_empties_to_the_assumed(opened: Opened) -> None:
    app = opened("system")
    limit = app.text_input(key=field_key(app, "system.mass_limit_kg"))
    assert limit.value == "100"
    limit.set_value("100 lb").run()
    assert held(app).case.system.mass_limit_kg == pytest.approx(45.359237)
    app.text_input(key=field_key(app, "system.mass_limit_kg")).set_value("").run()
    assert held(app).case.system.mass_limit_kg is None
    assert not app.error


def test_a_share_is_typed_as_a_percentage(opened: Opened) -> None:
    app = opened("prices")
    rate = app.text_input(key=field_key(app, "prices.discount_rate"))
    assert rate.value == "4"
    rate.set_value("7.5").run()
    assert held(app).case.prices.discount_rate == pytest.approx(0.075)
    assert "7.5%" in sentence(app)


def test_a_bad_field_keeps_the_text_and_the_last_answer(opened: Opened) -> None:
    app = opened("prices")
    before = sentence(app)
    key = field_key(app, "assumptions.horizon_years")
    app.text_input(key=key).set_value("ten or so").run()
    assert not app.exception
    assert app.text_input(key=key).value == "ten or so"
    assert "ten or so" in shown_problems(app)
    assert sentence(app) == before
    app.text_input(key=key).set_value("12").run()
    assert not app.error
    assert held(app).case.assumptions.horizon_years == 12


def test_two_mistakes_are_both_told(opened: Opened) -> None:
    app = opened("prices")
    app.text_input(key=field_key(app, "assumptions.horizon_years")).set_value("99").run()
    app.text_input(key=field_key(app, "prices.inflation")).set_value("a lot").run()
    told = shown_problems(app)
    assert "99" in told
    assert "a lot" in told


def test_a_million_watts_can_be_and_is_doubted_beside_its_grid(opened: Opened) -> None:
    app = opened("system")
    name = held(app).case.loads[0].name
    type_into_grid(app, "loads", edited_rows={0: {"power_w": "1000000"}})
    assert held(app).case.loads[0].power_w == 1e6
    assert not held(app).mistakes
    assert any(name in str(w.value) and "1,000,000 W" in str(w.value) for w in app.warning)


def test_a_load_below_nought_is_told_beside_the_loads_and_the_answer_stays(opened: Opened) -> None:
    app = opened("system")
    before = sentence(app)
    type_into_grid(app, "loads", edited_rows={0: {"power_w": "-50"}})
    assert "“-50” is too small. Allowed: 0 to " in shown_problems(app)
    assert sentence(app) == before


def test_loads_follow(opened: Opened) -> None:
    app = opened("system")
    before = sentence(app)
    type_into_grid(app, "loads", edited_rows={0: {"power_w": "420"}})
    assert held(app).case.loads[0].power_w == 420.0
    assert sentence(app) != before
    type_into_grid(app, "loads", edited_rows={0: {"months": "Julember"}})
    assert "Julember" in shown_problems(app)
    assert not app.exception


def test_a_month_is_typed(opened: Opened) -> None:
    app = opened("system")
    type_into_grid(app, "climate", edited_rows={0: {"Jan": "1.5"}, 5: {"Jul": "20"}})
    case = held(app).case
    assert case.climate.mean_degc[0] == 1.5
    assert case.climate.mean_degc[1] == 2.4
    assert case.sources.solar[0].shade[6] == pytest.approx(0.2)
    assert not app.error


def test_us_units_are_shown_and_typed(opened: Opened) -> None:
    app = opened("system", "coldharbour")
    limit = app.text_input(key=field_key(app, "system.mass_limit_kg"))
    assert "lb" in limit.label
    limit.set_value("80").run()
    assert held(app).case.system.mass_limit_kg == pytest.approx(80 * 0.45359237)
    labels = [cell.label for cell in app.text_input]
    assert any("°F" in label for label in labels)


def test_switching_units_keeps_the_case(opened: Opened) -> None:
    app = opened("prices")
    before = held(app).case
    app.selectbox(key=field_key(app, ".units".strip("."))).set_value("imperial").run()
    after = held(app).case
    assert after.units == "imperial"
    assert after.system == before.system
    assert after.candidates == before.candidates


def test_an_inverter_can_be_taken_out(opened: Opened) -> None:
    app = opened("system", "")
    assert held(app).case.system.inverter is None
    app.text_input(key=field_key(app, "system.inverter.continuous_w")).set_value("1.2 kW").run()
    inverter = held(app).case.system.inverter
    assert inverter is not None
    assert inverter.continuous_w == 1200.0
    app.text_input(key=field_key(app, "system.inverter.continuous_w")).set_value("").run()
    assert held(app).case.system.inverter is None
    assert not app.error


def test_what_was_not_touched_stays_unstated(opened: Opened) -> None:
    app = opened("prices")
    assert "pack_price_trend" not in held(app).case.prices.model_fields_set
    app.text_input(key=field_key(app, "prices.inflation")).set_value("3").run()
    assert "pack_price_trend" not in held(app).case.prices.model_fields_set
    assert "conductors" not in held(app).case.prices.model_fields_set
    assert held(app).case.prices.inflation == pytest.approx(0.03)


def test_what_is_said_of_a_candidate_follows_its_name_and_goes_with_it(opened: Opened) -> None:
    app = opened("candidates")
    name = held(app).case.evidence[0].candidate
    row = [candidate.name for candidate in held(app).case.candidates].index(name)
    seen = sum(report.candidate == name for report in held(app).case.evidence)
    type_into_grid(app, "candidates", edited_rows={row: {"name": "Renamed"}})
    assert not held(app).problems
    assert sum(report.candidate == "Renamed" for report in held(app).case.evidence) == seen
    assert not app.exception
    type_into_grid(app, "candidates", deleted_rows=[row])
    assert not held(app).problems
    assert "Renamed" not in {report.candidate for report in held(app).case.evidence}
    assert "Renamed" not in {candidate.name for candidate in held(app).case.candidates}


def test_a_report_moves_what_is_believed_of_a_pack(opened: Opened) -> None:
    app = opened("evidence")
    name = "Vinter 24-210H"

    def believed() -> float:
        comparison = held(app).comparison
        assert comparison is not None
        known = [r for r in comparison.results if r.arrangement.pack.name == name]
        return known[0].failures.knowledge.posterior.mean

    before = believed()
    report = {
        "candidate": name,
        "source": "hire fleet",
        "quality": "independent inspection",
        "units": "40",
        "months": "36",
        "failures": "9",
    }
    type_into_grid(app, "evidence", added_rows=[report])
    assert not app.exception
    assert not app.error
    assert believed() > 2 * before
    assert name in sentence(app)


def test_a_void_warranty_is_told_in_the_units_of_the_case(opened: Opened) -> None:
    app = opened("evidence", "coldharbour")
    shown = [str(text.value) for text in app.caption] + [str(grid.help) for grid in app.markdown]
    assert any("commercial use is covered" in text for text in shown)
    name = next(box.value for box in app.selectbox if box.label.startswith("Where the figure"))
    type_into_grid(app, "warranties", added_rows=[{"candidate": name, "operating_min_degc": "90"}])
    assert not held(app).problems
    said = next(str(text.value) for text in app.caption if "does not hold" in str(text.value))
    assert "°F or more" in said
    assert "degC" not in said


def test_the_answer_screen_says_what_the_draws_say(opened: Opened) -> None:
    app = opened("answer")
    assert "draws of everything uncertain" not in sentence(app)
    drawn = compare(held(app).case, draws=200)
    held(app).drawn = (held(app).stated, drawn)
    app.run()
    assert "200 draws of everything uncertain" in sentence(app)
    assert sentence(app) == words(answer(drawn), "metric")


def test_a_spread_is_typed(opened: Opened) -> None:
    app = opened("prices")
    rows = list(held(app).grids["spreads"].frame["what"])
    edits = {
        rows.index("Price of the packs"): {"high": "1,2"},
        rows.index("Inflation"): {"low": "-2"},
    }
    type_into_grid(app, "spreads", edited_rows=edits)
    assert not app.error
    spreads = held(app).case.spreads
    assert (spreads.pack_price.low, spreads.pack_price.high) == (0.97, 1.2)
    assert spreads.inflation.low == pytest.approx(-0.02)
    assert spreads.inflation.high == pytest.approx(0.012)
    type_into_grid(app, "spreads", edited_rows={0: {"high": "0.5"}})
    assert "0.5" in shown_problems(app)
    assert not app.exception


def test_a_capacity_test_is_typed_and_judged(opened: Opened) -> None:
    app = opened("after_purchase")
    before = sentence(app)
    assert "promise" in before.lower()
    new = {"Date": "2025-09-29", "Measured (Ah)": "150", "Temp (°C)": "20", "Discharge (A)": "42"}
    type_into_grid(app, "log.rows", added_rows=[new])
    assert not app.exception
    assert sentence(app) != before
    type_into_grid(app, "log.rows", edited_rows={0: {"Measured (Ah)": "plenty"}}, added_rows=[new])
    assert "cannot be judged" in sentence(app)
    assert "plenty" in shown_problems(app)
    assert not app.exception


def test_a_log_from_nothing(opened: Opened) -> None:
    app = opened("after_purchase", "coldharbour")
    assert "No capacity test" in sentence(app)
    new = {"Date": "2025-05-02", "Measured (Ah)": "140", "Discharge (A)": "20"}
    type_into_grid(app, "log.rows", added_rows=[new])
    assert "does not say which battery" in shown_problems(app)
    battery = next(box for box in app.selectbox if box.label == "Battery")
    battery.set_value("Marrow 12-150").run()
    next(box for box in app.text_input if box.label == "Bought").set_value("2024-04-01").run()
    assert not app.exception
    assert "promise" in sentence(app).lower()
    assert "candidate: Marrow 12-150" in held(app).log
    assert "bought: 2024-04-01" in held(app).log


def test_columns_for_cells_are_added_and_a_drifting_cell_is_in_the_headline(opened: Opened) -> None:
    app = opened("after_purchase", "coldharbour")
    next(box for box in app.number_input if "Cells" in box.label).set_value(4).run()
    next(b for b in app.button if b.label == "Add their columns").click().run()
    assert not app.exception
    cells = {f"Cell {n} (mV)": "3330" for n in range(1, 5)}
    tests = [
        {"Date": "2024-05-02", "Measured (Ah)": "150", **cells},
        {"Date": "2025-05-02", "Measured (Ah)": "149", **cells, "Cell 3 (mV)": "3200"},
    ]
    type_into_grid(app, "log.rows", added_rows=tests)
    battery = next(box for box in app.selectbox if box.label == "Battery")
    battery.set_value("Marrow 12-150").run()
    next(box for box in app.text_input if box.label == "Bought").set_value("2024-04-01").run()
    next(box for box in app.text_input if "Warranty [" in box.label).set_value("50").run()
    assert not app.exception
    assert "one cell drifts: number 3 is 130 mV below the others" in sentence(app)
    assert any("fault of its own" in entry.value for entry in app.warning)
    told = " ".join(entry.value for entry in app.caption)
    assert "2 tests are too few" in told


def test_all_left_out_is_said(opened: Opened) -> None:
    app = opened("candidates")
    count = len(held(app).case.candidates)
    edits = {row: {"left_out": True} for row in range(count)}
    type_into_grid(app, "candidates", edited_rows=edits)
    assert sentence(app).startswith(f"All {count} candidates are left out for now")
    assert not app.exception
