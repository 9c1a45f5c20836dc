"""Tables of a choice between two."""

import numpy as np
import pytest

from tco.report.weighing import charts as weigh_charts
from tco.report.weighing.frames import (
    curve,
    histogram,
    map_cells,
    settling_words,
    signed,
    stretches,
    swings,
    tracks,
)
from tco.weighing.breakeven import BreakEven
from tco.weighing.convergence import Convergence
from tco.weighing.curves import Point, TwoWay
from tco.weighing.drivers import Driver
from tco.weighing.sensitivity import Swing


def test_no_bin_spans_nought_and_every_side_is_told() -> None:
    rng = np.random.default_rng(4)
    draws = rng.normal(30.0, 100.0, 5000)
    bins = histogram(draws, "left", "right")
    assert not ((bins["from"] < -1e-9) & (bins["to"] > 1e-9)).any()
    assert set(bins[bins["from"] >= -1e-9]["cheaper"]) == {"right"}
    assert set(bins[bins["to"] <= 1e-9]["cheaper"]) == {"left"}
    assert bins["draws"].sum() == pytest.approx(draws.size, rel=0.015)
    left = bins[bins["cheaper"] == "left"]["draws"].sum()
    assert left == pytest.approx((draws < 0).sum(), rel=0.03)


def test_equal_draws_make_a_histogram() -> None:
    assert histogram(np.full(100, 5.0), "a", "b")["draws"].sum() == 100


def row(at: float | None, crossings: tuple[float, ...], below: str, above: str) -> BreakEven:
    return BreakEven("x", "u", at, 5.0, 0.0, 10.0, below, above, "", crossings)


def test_stretches_take_turns() -> None:
    one = stretches([row(4.0, (4.0,), "a", "b")], "a", "b")
    assert list(one["cheaper"]) == ["a", "b"]
    assert list(one["to"]) == [0.4, 1.0]
    # the nearest of three is the middle one: below it b, so before that a, and so on
    three = stretches([row(6.0, (2.0, 6.0, 9.0), "b", "a")], "a", "b")
    assert list(three["cheaper"]) == ["a", "b", "a", "b"]
    none = stretches([row(None, (), "b", "b")], "a", "b")
    assert list(none["cheaper"]) == ["b"]


def test_money_with_its_sign() -> None:
    assert signed(-1234.0, "€") == "−\u2060€1,234"  # no line is broken at the sign
    assert signed(5.0, "€") == "+\u2060€5"


def driver(of: str, low: float, high: float, now: float, *, by_ratio: bool = False) -> Driver:
    return Driver(
        of, "u", low, high, now, lambda case, value: case, lambda value: f"{value:g} u",
        lambda value, above: "", by_ratio=by_ratio,
    )  # fmt: skip


def test_the_mark_is_where_the_sentence_says() -> None:
    """Years: the lead changes between 4 and 5, the sentence says 4 or less, so does the mark."""
    years = BreakEven(
        "years", "u", 5.0, 10.0, 1.0, 25.0, "b", "a", "unless it is used for 4 years or less",
        (5.0,), "", 4.0, "4 years or less", whole=True,
    )  # fmt: skip
    (track,) = tracks([years], {"years": driver("years", 1.0, 25.0, 10.0)}).to_dict("records")
    assert track["turn"] == pytest.approx(3.0 / 24.0)
    assert track["turn_words"] == "4 years or less"
    assert track["now"] == pytest.approx(9.0 / 24.0)
    two = stretches([years], "a", "b")
    assert list(two["cheaper"]) == ["b", "a"]
    assert two["to"][0] == pytest.approx(3.5 / 24.0)  # so the mark lies where "b" is cheaper


def test_a_range_of_ratios_is_drawn_in_ratios() -> None:
    found = BreakEven(
        "fails", "u", 0.1, 0.01, 0.001, 1.0, "a", "b", "", (0.1,), "", 0.1, "x", by_ratio=True
    )
    frame = tracks([found], {"fails": driver("fails", 0.001, 1.0, 0.01, by_ratio=True)})
    assert frame["now"][0] == pytest.approx(1.0 / 3.0)
    assert frame["turn"][0] == pytest.approx(2.0 / 3.0)
    assert list(stretches([found], "a", "b")["to"]) == pytest.approx([2.0 / 3.0, 1.0])


def test_rates_on_the_tornado_are_told_by_how_often() -> None:
    (row,) = swings([Swing("failure_rate", 0.0019, 0.0208, 1.0, 2.0)], 1.5).to_dict("records")
    assert row["low"] == "a pack fails once in 526 years"
    assert row["high"] == "a pack fails once in 48 years"


def two_by_three() -> TwoWay:
    x, y = driver("x", 0.0, 2.0, 1.0), driver("y", 0.0, 2.0, 2.0)
    return TwoWay(x, y, tuple((a, b, a - b) for a in (0.0, 1.0, 2.0) for b in (0.0, 2.0)))


def test_a_map_tells_today_and_who_is_cheaper() -> None:
    cells = map_cells(two_by_three(), "a", "b")
    assert len(cells) == 6
    (today,) = cells[cells["todays"]].to_dict("records")
    assert (today["x"], today["y"], today["difference"], today["text"]) == ("1 u", "2 u", -1.0, "1")
    assert today["cheaper"] == "a"
    assert (today["x_at"], today["y_at"]) == (1, 1)
    assert list(cells["cheaper"]) == ["a", "a", "b", "a", "b", "a"]


def test_the_map_names_its_places_and_frames_today() -> None:
    cells = map_cells(two_by_three(), "a", "b")
    drawn = weigh_charts.two_way(cells, x="x", y="y", left="a", right="b", currency="€").to_dict()
    axis = drawn["layer"][0]["encoding"]["x"]["axis"]
    assert axis["labelExpr"] == '["0 u", "1 u", "2 u"][datum.value]'
    assert axis["labelFontWeight"]["condition"]["test"] == "datum.value == 1"
    assert drawn["layer"][2]["transform"] == [{"filter": "datum.todays"}]


def points() -> list[Point]:
    return [
        Point(side, x, 10.0 * x, 20.0 * x, 1.0, 1.0, 5.0 / x + extra, 0.0, x == 2.0, x < 3.0)
        for x in (1.0, 2.0, 3.0)
        for side, extra in (("a", 0.0), ("b", 1.0))
    ]


def test_the_case_s_own_point_is_marked_on_a_curve() -> None:
    frame = curve(points(), lambda days: f"{days:g} days")
    assert list(frame["words"][:4]) == ["1 days", "1 days", *["2 days, as the case is"] * 2]
    assert list(frame["todays"]) == [False, False, True, True, False, False]
    drawn = weigh_charts.curve(
        frame, x="kwh_per_year", x_title="x", y="cost_per_kwh", y_title="y", left="a", right="b",
        turned="days", ends=("weekend user", "full-timer"),
    ).to_dict()  # fmt: skip
    texts = [layer["encoding"]["text"]["datum"] for layer in drawn["layer"][3:]]
    assert texts == ["weekend user", "as the case is", "full-timer"]


def round_(draws: int, error: float, reason: str | None = None) -> Convergence:
    return Convergence("a", draws, 5000.0, error, error / 2, 50.0, reason)


def test_every_round_is_told_with_its_errors() -> None:
    steps = [round_(500, 104.0), round_(1000, 72.0)]
    assert settling_words(steps, running=True, sign="€") == (
        "Going on. Standard error of the least mean cost and of its lead, both wanted below ± €50. "
        "500 draws: ± €104 and ± €52; 1,000 draws: ± €72 and ± €36."
    )
    stopped = settling_words([*steps, round_(2000, 51.0, "stopped")], running=False, sign="€")
    assert stopped.startswith("Stopped before it settled; what the last whole round knew is shown.")
    assert settling_words([round_(2000, 49.0, "settled")], running=False, sign="€").startswith(
        "Settled."
    )
    assert settling_words([], running=False, sign="€").startswith("Nothing passes")
