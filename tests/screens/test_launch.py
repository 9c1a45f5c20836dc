"""Every screen opens on every demo, on an empty case and on awkward ones, without an exception."""

import pytest
from streamlit.testing.v1 import AppTest

from tco.screens import state
from tests.screens.helpers import ROOT, SCREENS, Opened, changed, held, pack, sentence

NASTY_NAMES = (
    "*Star* <b>B</b>",
    "$5 and $6 pack",
    "`tick` [l](http://x) :fire:",
    "_under_ ~~gone~~ |pipe|",
    "<script>alert(1)</script>",
    "A name that goes on " * 5,
)
CASES = {
    **{name: name for name in state.DEMOS},
    "empty": "",
    "no loads": changed("otterbank", loads=[], candidates=[pack("Only")]),
    "one candidate": changed("otterbank", candidates=[pack("Only")]),
    "nothing passes": changed("larch_hut", candidates=[pack("Small")]),
    "nasty names": changed(
        "coldharbour",
        title="$5 <b>or</b> $6 *case* :smile:",
        candidates=[pack(name, n) for n, name in enumerate(NASTY_NAMES)],
    ),
}


@pytest.mark.parametrize("screen", SCREENS)
@pytest.mark.parametrize("case", CASES)
def test_every_screen_opens(opened: Opened, screen: str, case: str) -> None:
    app = opened(screen, CASES[case])
    assert not app.exception, [error.message for error in app.exception]
    assert not app.error
    assert sentence(app)


@pytest.mark.parametrize("screen", ["answer", "candidates", "fits"])
def test_three_hundred_candidates(opened: Opened, screen: str) -> None:
    rows = [pack(f"Pack {n}", n) for n in range(300)]
    app = opened(screen, changed("coldharbour", candidates=rows))
    assert not app.exception
    assert len(held(app).case.candidates) == 300


def test_the_app_opens_on_the_answer_of_the_demo() -> None:
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60).run()
    assert not app.exception
    assert "Buy" in sentence(app)
    assert held(app).case.title == "The Otterbank"


@pytest.mark.parametrize(
    "view", ["Costs compared", "Requirements", "Ledger", "Wiring", "The years"]
)
@pytest.mark.parametrize("case", ["otterbank", "larch_hut", "coldharbour"])
def test_every_view_of_every_passing_and_failing_arrangement(
    opened: Opened, view: str, case: str
) -> None:
    app = opened("answer", case)
    comparison = held(app).comparison
    assert comparison is not None
    app.session_state["view"] = view
    for result in (comparison.results[0], comparison.results[-1]):
        app.session_state["arrangement shown"] = result.arrangement.label
        app.run()
        assert not app.exception, [error.message for error in app.exception]


def test_markdown_in_names_is_escaped(opened: Opened) -> None:
    app = opened("answer", CASES["nasty names"])
    spoken = str(app.subheader[0].value)
    best = held(app).comparison
    assert best is not None
    name = best.results[0].arrangement.pack.name
    assert name in spoken.replace("\\", "").replace("\u2060", "")
    for sign in "*$<`_":
        assert f"\\{sign}" in spoken or sign not in name
