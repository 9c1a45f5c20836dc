"""Every screen opens on every demo, on an empty case and on awkward ones, without an exception."""

import ast
from pathlib import Path

import pvlib
import pytest
from streamlit.testing.v1 import AppTest

from tco.case.weather_file import climate_values, read_weather_file
from tco.screens import opening, state
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
    **{name: name for name in opening.DEMOS},
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


def test_no_note_for_programmers_is_shown_to_people() -> None:
    """Streamlit writes what stands by itself in a script; of those it runs none has such a line."""
    scripts = [ROOT / "app.py", *(ROOT / "tco" / "screens" / f"{name}.py" for name in SCREENS)]
    for script in scripts:
        _, *rest = ast.parse(script.read_text(encoding="utf-8")).body
        alone = [n.lineno for n in rest if isinstance(n, ast.Expr) and _is_text(n.value)]
        assert not alone, f"{script.name}, line {alone[0]}"
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60).run()
    assert not any("another name" in text.value for text in app.markdown)


def _is_text(value: ast.expr) -> bool:
    return isinstance(value, ast.Constant) and isinstance(value.value, str)


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


def every_arrangement(app: AppTest) -> list[str]:
    comparison = held(app).comparison
    assert comparison is not None
    return [result.arrangement.label for result in comparison.results]


@pytest.mark.parametrize("case", ["otterbank", "larch_hut", "coldharbour"])
@pytest.mark.parametrize("screen", ["wiring", "years"])
def test_arrangements_of_all_kinds_are_shown(opened: Opened, screen: str, case: str) -> None:
    app = opened(screen, case)
    names = every_arrangement(app)
    for name in names[:: max(1, len(names) // 6)] + names[-1:]:
        app.session_state["arrangement shown"] = name
        app.run()
        assert not app.exception, [error.message for error in app.exception]
        assert name in sentence(app)


@pytest.mark.parametrize("case", ["otterbank", "coldharbour"])
def test_every_closer_look_at_two(opened: Opened, case: str) -> None:
    app = opened("weigh", case)
    app.session_state["weighed"] = "Any two"
    app.run()
    boxes = {box.label: box for box in app.selectbox}
    boxes["Right"].set_value(every_arrangement(app)[-1]).run()
    assert "fails on" in sentence(app)
    for view in (
        "All that pass",
        "What moves it most",
        "Two things at once",
        "Weekend user to full-timer",
        "Years of use",
    ):
        app.session_state["closer"] = view
        app.run()
        assert not app.exception, [error.message for error in app.exception]
    boxes = {box.label: box for box in app.selectbox}
    boxes["Left"].set_value(every_arrangement(app)[-1]).run()
    assert not app.exception
    assert "two different" in sentence(app)


def test_a_worn_bank_goes_dark_no_less(opened: Opened) -> None:
    app = opened("years")
    app.session_state["arrangement shown"] = "1 × Bollard 24-200 (1S1P)"
    app.run()
    new = [metric.value for metric in app.metric]
    app.session_state["bank age"] = "Worn"
    app.run()
    worn = [metric.value for metric in app.metric]
    hours = [
        float(value.split("\\")[0].split(" ")[0].replace(",", "")) for value in (new[0], worn[0])
    ]
    assert hours[1] >= hours[0]
    assert new != worn


def test_the_weak_point_is_that_of_the_bank_that_was_chosen_and_the_other_is_told(
    opened: Opened,
) -> None:
    app = opened("years")
    assert "when new, nothing is too small; when worn to 70%, the battery" in sentence(app)
    app.session_state["bank age"] = "Worn"
    app.run()
    assert sentence(app).endswith(
        "when worn to 70%, the battery is the weak point; when new, nothing is too small."
    )
    told = [str(text.value) for text in app.markdown]
    new, worn = told.index("**When new**"), told.index("**When worn to 70%**")
    assert worn < new  # the one asked about first
    assert told[worn + 1].startswith("The battery is too small")
    assert told[new + 1].startswith("A new bank leaves no essential load without power")
    assert any(text.startswith("More capacity: ") for text in told[worn:new])


def test_a_weather_file_of_one_year_is_said_to_be_too_little(opened: Opened) -> None:
    path = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    climate = climate_values(read_weather_file(path)) | {"weather_file": str(path)}
    app = opened("years", changed("otterbank", climate=climate, candidates=[pack("Only")]))
    assert not app.exception
    captions = [str(caption.value) for caption in app.caption]
    assert sum("20 years were drawn from its monthly values" in text for text in captions) == 1
    assert "1 weather years" not in " ".join(captions)
    typed = opened("years")
    assert not any("The weather file has" in str(caption.value) for caption in typed.caption)


def test_the_answer_tells_the_chance_where_draws_were_made(opened: Opened) -> None:
    app = opened("answer")
    assert not any("of draws" in caption.value for caption in app.caption)
    workspace = held(app)
    assert workspace.comparison is not None
    state.drawn_of(workspace, workspace.comparison)
    app.run()
    assert any("of draws" in caption.value for caption in app.caption)


def test_markdown_in_the_headings_of_tables_is_escaped(opened: Opened) -> None:
    app = opened("wiring", CASES["nasty names"])
    headings = [str(name) for table in app.table for name in table.value.columns]
    named = [heading for heading in headings if "(1S" in heading.replace("\\", "")]
    assert named
    for heading in named:
        for sign in "*$<`_":
            assert heading.count(sign) == heading.count(f"\\{sign}")


def test_the_years_say_both_models_figures(opened: Opened) -> None:
    said = [entry.value for entry in opened("years").markdown]
    assert any(
        "left after 10 years, by a second one" in text and "Wang 2011" in text for text in said
    )
