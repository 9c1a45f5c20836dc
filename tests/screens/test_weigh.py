"""The screen that weighs two: draws raised round by round, stopped at any time, and the map."""

import threading
from functools import partial
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from tco.screens import draw_rounds
from tco.weighing.breakeven import ranked
from tco.weighing.convergence import judged
from tco.weighing.curves import telling_pair
from tests.screens.helpers import Opened, held


def button(app: AppTest, label: str) -> Any:
    return next(b for b in app.button if b.label == label)


def labels(app: AppTest) -> set[str]:
    return {b.label for b in app.button}


def draws_shown(app: AppTest) -> tuple[int, int]:
    """Draws as typed in the field, and of the comparison on screen."""
    drawn = held(app).drawn[1]
    assert drawn is not None
    costs = drawn.results[0].costs
    assert costs is not None
    (field,) = [box for box in app.number_input if box.label == "Draws"]
    return int(field.value), costs.size


def rounds(app: AppTest) -> str:
    """What the screen says of the rounds; empty where it says nothing."""
    said = [str(c.value) for c in app.caption if "Standard error of the least" in str(c.value)]
    return "".join(said).replace("\\", "")


def test_more_draws_make_the_error_smaller(opened: Opened) -> None:
    app = opened("weigh", "coldharbour")

    def standard_error() -> float:
        drawn = held(app).drawn[1]
        assert drawn is not None
        assert drawn.results[0].risk is not None
        return drawn.results[0].risk.band.standard_error

    few = standard_error()
    next(button for button in app.button if button.label == "More draws").click().run()
    assert held(app).draws == 4000
    assert standard_error() == pytest.approx(few / 2, rel=0.3)


def test_draws_until_it_settles(opened: Opened) -> None:
    app = opened("weigh", "coldharbour")
    button(app, "Until it settles").click().run()
    assert not app.exception
    assert rounds(app).startswith("Settled.")
    typed, drawn = draws_shown(app)
    assert typed == drawn == held(app).draws
    comparison = held(app).drawn[1]
    assert comparison is not None
    known = judged(comparison)
    assert known is not None
    assert known.reason == "settled"
    assert f"{drawn:,} draws: ± ${known.mean_error:,.0f}" in rounds(app)
    assert "Until it settles" in labels(app)
    assert "Stop" not in labels(app)


@pytest.fixture
def one_round_a_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """Never settled, and the screen waits after each round until it is run again."""
    monkeypatch.setattr(draw_rounds, "judged", partial(judged, share=1e-6))
    monkeypatch.setattr("streamlit.rerun", lambda: None)


@pytest.mark.usefixtures("one_round_a_run")
def test_the_user_stops_it_after_any_round_and_keeps_the_last(opened: Opened) -> None:
    app = opened("weigh", "coldharbour")
    button(app, "Until it settles").click().run()
    assert draws_shown(app)[1] == 2000  # the first round, those already there, and one more
    assert "1,000 draws: ±" in rounds(app)
    app.run()
    assert draws_shown(app) == (2000, 4000)  # on screen the round that is over, worked out the next
    assert rounds(app).startswith("Going on.")
    assert "2,000 draws: ±" in rounds(app)
    assert "Stop" in labels(app)
    assert "Until it settles" not in labels(app)
    (field,) = [box for box in app.number_input if box.label == "Draws"]
    assert field.disabled
    button(app, "Stop").click().run()
    assert not app.exception
    assert draws_shown(app) == (4000, 4000)
    assert rounds(app).startswith("Stopped before it settled")
    assert "4,000 draws: ±" in rounds(app)
    app.run()
    assert draws_shown(app) == (4000, 4000)
    assert "Until it settles" in labels(app)
    assert any("standard errors of 4,000 draws" in str(text.value) for text in app.markdown)


@pytest.mark.usefixtures("one_round_a_run")
def test_stopped_within_a_round_the_one_before_stays(
    opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A click raises in the middle of a round, where the screen tells its progress."""
    app = opened("weigh", "coldharbour")
    button(app, "Until it settles").click().run()

    def clicked(*_: object, **__: object) -> None:
        raise RuntimeError("somebody clicked")

    with monkeypatch.context() as patched:
        patched.setattr(draw_rounds, "next_round", clicked)
        app.run()
    assert draws_shown(app) == (2000, 2000)
    button(app, "Stop").click().run()
    assert not app.exception
    assert draws_shown(app) == (2000, 2000)
    assert rounds(app).startswith("Stopped before it settled")


@pytest.mark.usefixtures("one_round_a_run")
def test_another_case_or_number_of_draws_ends_it(opened: Opened) -> None:
    app = opened("weigh", "coldharbour")
    button(app, "Until it settles").click().run()
    button(app, "Stop").click().run()
    assert rounds(app)
    (field,) = [box for box in app.number_input if box.label == "Draws"]
    field.set_value(300).run()
    assert draws_shown(app) == (300, 300)
    assert not rounds(app)
    button(app, "Until it settles").click().run()
    assert rounds(app)
    app.session_state["cases open"] = True
    app.run()
    app.button(key="demo otterbank").click().run()
    assert not rounds(app)
    assert draws_shown(app) == (1000, 1000)
    assert "Until it settles" in labels(app)


def test_work_in_the_background_gives_its_result_and_tells_its_progress() -> None:
    told: list[tuple[float, str]] = []
    go_on = threading.Event()

    def tell(share: float, what: str) -> None:
        told.append((share, what))
        if share == 0.5:
            go_on.set()

    def work(say: Any) -> int:
        say(0.5, "half")
        assert go_on.wait(10.0)
        return 7

    assert draw_rounds.in_background(work, tell) == 7
    assert (0.5, "half") in told


def test_a_click_ends_the_work_in_the_background() -> None:
    class ClickedError(Exception):
        pass

    ended, clicked = threading.Event(), threading.Event()

    def tell(share: float, what: str) -> None:
        clicked.set()
        raise ClickedError

    def work(say: Any) -> None:
        try:
            say(0.1, "begun")
            assert clicked.wait(10.0)
            while True:
                threading.Event().wait(0.01)
                say(0.2, "going on")
        finally:
            ended.set()

    with pytest.raises(ClickedError):
        draw_rounds.in_background(work, tell)
    assert ended.wait(10.0)


def test_what_goes_wrong_in_the_background_is_told() -> None:
    def work(say: Any) -> None:
        raise ArithmeticError("wrong")

    with pytest.raises(ArithmeticError, match="wrong"):
        draw_rounds.in_background(work, lambda share, what: None)


@pytest.mark.parametrize("case", ["otterbank", "coldharbour"])
def test_the_map_opens_on_the_two_that_matter_most(opened: Opened, case: str) -> None:
    app = opened("weigh", case)
    app.session_state["closer"] = "Two things at once"
    app.run()
    drawn = held(app).drawn[1]
    assert drawn is not None
    one = next(r for r in drawn.results if r.arrangement.packs == 1)
    many = next(r for r in drawn.results if r.arrangement.parallel > 1)
    pair = telling_pair(drawn.case, one, many)
    boxes = {box.label: box for box in app.selectbox}
    assert (boxes["Across"].value, boxes["Up"].value) == (pair[0].of, pair[1].of)
    known = {driver.of: driver for driver, _ in ranked(drawn.case, one, many)}
    assert set(boxes["Across"].options) == set(known)
    (said,) = [str(c.value).replace("\\", "") for c in app.caption if "Framed" in str(c.value)]
    for driver in pair:
        assert f"{driver.of}: {driver.words(driver.now)}" in said
    # another pair, and one that is none
    other = next(of for of in known if of not in (pair[0].of, pair[1].of))
    boxes["Across"].set_value(other).run()
    assert not app.exception
    assert any(f"{other}: " in str(c.value).replace("\\", "") for c in app.caption)
    {box.label: box for box in app.selectbox}["Up"].set_value(other).run()
    assert not app.exception
    assert any("two different quantities" in str(text.value) for text in app.info)
