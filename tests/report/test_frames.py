"""Tables and charts say what the comparison says."""

import json

import numpy as np
import pytest

from tco.case import read_case
from tco.compare import Comparison, compare
from tco.report import frames, words
from tco.report.answer import frames as answer_frames
from tco.report.inputs import frames as input_frames
from tco.report.inputs import words as sentences
from tco.report.money import charts as money_charts
from tco.report.money import frames as money_frames
from tco.report.space import charts as space_charts
from tco.report.space import frames as space_frames
from tco.report.space import words as space_words
from tco.report.years import charts
from tco.report.years import frames as year_frames
from tests.screens.helpers import ROOT

DEMOS = ("otterbank", "larch_hut", "coldharbour")


@pytest.fixture(scope="module", params=DEMOS)
def comparison(request: pytest.FixtureRequest) -> Comparison:
    return compare(read_case(ROOT / "candidates_demo" / f"{request.param}.toml"))


def test_groups_of_cost_sum_to_the_total(comparison: Comparison) -> None:
    groups = money_frames.cost_groups(comparison.results)
    totals = groups.groupby("arrangement")["present"].sum()
    for result in comparison.results:
        assert totals[result.arrangement.label] == pytest.approx(result.measures.total_cost)
    assert set(groups["group"]) <= set(money_frames.GROUPS), "a ledger item without a group"


def test_items_of_the_ledger_sum_to_the_total(comparison: Comparison) -> None:
    result = comparison.results[0]
    rows = money_frames.ledger_rows(result, "metric")
    items = money_frames.ledger_items(rows, "€")
    assert items["Present value [€]"].sum() == pytest.approx(result.measures.total_cost)
    assert items["Rows"].sum() == len(result.ledger) == len(money_frames.dated(rows, "€"))


def test_the_bill_sums_to_the_wiring(comparison: Comparison) -> None:
    result = next(r for r in comparison.results if r.wiring is not None)
    assert result.wiring is not None
    bill = money_frames.bill(result, "€", "metric")
    assert bill["Cost [€]"].sum() == pytest.approx(result.wiring.cost)


def test_every_column_of_numbers_has_a_unit(comparison: Comparison) -> None:
    frame = answer_frames.ranked(comparison)
    numbers = [c for c in frame.columns if frame[c].dtype.kind == "f"]
    assert numbers
    assert all("[" in column for column in numbers)
    assert set(answer_frames.ranked_formats(list(frame.columns))) >= set(numbers)
    assert len(frame) == len(comparison.results)


def test_failing_checks_come_first_with_signs_and_words(comparison: Comparison) -> None:
    checks = frames.checks(comparison.results[-1])
    assert checks[""].iloc[0] == "✗"
    assert checks["Verdict"].iloc[0] == "fails"
    assert len(checks) == len(comparison.results[-1].screening.checks)


def test_imperial_readers_read_pounds(comparison: Comparison) -> None:
    table = frames.checks(comparison.results[0], units="imperial").to_csv()
    assert " lb" in table
    assert " kg" not in table
    assert "degC" not in table


def test_every_assumed_value_is_listed(comparison: Comparison) -> None:
    packs = {r.arrangement.pack.name: r.arrangement.pack for r in comparison.results}
    listed = input_frames.assumed(comparison.case, comparison)
    assert len(listed) == sum(len(pack.assumed) for pack in packs.values())


def test_the_worst_fortnight_is_found() -> None:
    charge = np.full(2 * 8760, 0.9)
    charge[8760 + 24 * 100 : 8760 + 24 * 114] = 0.3
    charge[8760 + 24 * 105 + 5] = 0.1
    found = year_frames.charge_year(charge)
    assert (found.weather_year, found.start, found.end) == (1, 100, 113)
    assert found.lowest == pytest.approx(0.1)
    assert len(found.days) == 365
    assert "11 Apr to 24 Apr" in found.words  # 31 + 28 + 31 = 90 days before 1 April


def test_charts_are_valid_and_hold_their_data(comparison: Comparison) -> None:
    result, case = comparison.results[0], comparison.case
    rows = money_frames.ledger_rows(result, "metric")
    charge = year_frames.charge_year(comparison.trace(result).charge)
    drawn = [
        money_charts.cost_bars(money_frames.cost_groups(comparison.results[:10]), currency="$"),
        money_charts.ledger_bars(rows, currency="€", horizon_years=case.assumptions.horizon_years),
        charts.health_lines(
            year_frames.health(result), end_of_life_health=case.assumptions.end_of_life_health
        ),
        charts.charge_band(charge),
        space_charts.verdict_matrix(space_frames.matrix(comparison.results[:5])),
        space_charts.density_points(space_frames.densities(comparison)),
        charts.budget_heat(year_frames.budget(comparison)),
        charts.daily_bars(year_frames.daily_need(comparison)),
    ]
    for chart in drawn:
        spec = chart.to_dict()
        assert any(len(data) > 0 for data in spec["datasets"].values())
        assert "€" in json.dumps(spec, ensure_ascii=False) or "€" not in chart.to_json()


def test_the_heat_map_is_the_budget(comparison: Comparison) -> None:
    frame = year_frames.budget(comparison)
    daily = frame.groupby("month", sort=False)["watts"].sum()
    month = comparison.budget.worst_month
    assert daily.iloc[month] == pytest.approx(float(comparison.budget.daily_wh[month]))


def test_sentences_hold_the_numbers(comparison: Comparison) -> None:
    spoken = sentences.need(comparison)
    worst = float(comparison.budget.daily_wh.max()) / 1000.0
    assert f"{worst:.2f} kWh" in spoken
    passing = sum(result.feasible for result in comparison.results)
    assert space_words.fits(comparison).startswith(f"{passing} of {len(comparison.results)}")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("$5 and $6", "\\$5 and \\$6"),
        ("*a* _b_ `c`", "\\*a\\* \\_b\\_ \\`c\\`"),
        ("<b>x</b>", "\\<b\\>x\\</b\\>"),
        (":fire: and :red[x]", ":\u2060fire: and :\u2060red\\[x\\]"),
        ("http://x www.y a@b.c", "http:\u2060//x www\u2060.y a\u2060@b.c"),
        ("two\nlines", "two lines"),
        ("12:30, plain", "12:30, plain"),
    ],
)
def test_text_shows_as_it_is(text: str, shown: str) -> None:
    assert words.literal(text) == shown
