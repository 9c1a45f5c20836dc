"""The app in a real browser: it opens on an answer, and an edit in the grid changes it."""

import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SLOWEST_START_S = 30.0
PATIENCE_MS = 20_000

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not CHROMIUM.exists(), reason=f"a real browser is needed at {CHROMIUM}"),
]
playwright_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Starts the app on a free port, and ends that very process."""
    port = _free_port()
    log = tmp_path_factory.mktemp("app") / "log.txt"
    command = [sys.executable, "-m", "streamlit", "run", "app.py", "--server.port", str(port)]
    with log.open("w") as out:
        server = subprocess.Popen(command, cwd=ROOT, stdout=out, stderr=subprocess.STDOUT)
        try:
            until = time.monotonic() + SLOWEST_START_S
            while True:
                try:
                    socket.create_connection(("127.0.0.1", port), timeout=0.2).close()
                    break
                except OSError:
                    assert time.monotonic() < until, log.read_text()
                    time.sleep(0.05)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(timeout=10)


@pytest.fixture
def page(address: str) -> Iterator["playwright_api.Page"]:
    with playwright_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        opened = browser.new_page(viewport={"width": 1440, "height": 900})
        opened.set_default_timeout(PATIENCE_MS)
        playwright_api.expect.set_options(timeout=PATIENCE_MS)  # five seconds, unless told
        opened.goto(address)
        yield opened
        browser.close()


def test_the_answer_is_there_and_an_edit_changes_it(page: "playwright_api.Page") -> None:
    sentence = page.locator("h3")
    playwright_api.expect(sentence).to_contain_text("Buy ", timeout=PATIENCE_MS)
    first = sentence.inner_text()
    page.get_by_role("link", name="Prices and assumptions").click()
    years = page.get_by_label("Years compared [years]")
    years.fill("20")
    years.press("Enter")
    playwright_api.expect(sentence).to_contain_text("20 years")
    page.get_by_role("link", name="The answer").click()
    playwright_api.expect(sentence).to_contain_text(re.compile("Buy .* over 20 years"))
    assert sentence.inner_text() != first
    playwright_api.expect(page.get_by_test_id("stException")).to_have_count(0)


def test_a_cell_typed_in_the_candidates_stays_and_is_explained(
    page: "playwright_api.Page",
) -> None:
    page.get_by_role("link", name="Candidates").click()
    sentence = page.locator("h3")
    playwright_api.expect(sentence).to_contain_text("candidates make")
    grid = page.get_by_test_id("stDataFrame").first
    box = grid.bounding_box()
    assert box is not None
    # the capacity of the first candidate; the grid is a canvas, so it is found by place
    page.mouse.click(box["x"] + 500, box["y"] + 52)
    page.wait_for_timeout(300)
    page.keyboard.press("Enter")  # opens the cell: a key typed at once could be lost
    page.wait_for_timeout(300)
    page.keyboard.press("Control+A")
    page.keyboard.type("plenty", delay=90)
    page.wait_for_timeout(300)
    page.keyboard.press("Enter")
    alert = page.get_by_test_id("stAlert")
    expect = playwright_api.expect
    expect(alert.first).to_contain_text("Not read: capacity of")
    expect(alert.nth(1)).to_contain_text("“plenty” is not a number. Allowed:")
    expect(alert.nth(1)).to_contain_text("is left out")
    # over to another screen and back: what was typed is still told, and marked in its cell
    page.get_by_role("link", name="What fits").click()
    expect(sentence).to_contain_text("meet every requirement")
    page.get_by_role("link", name="Candidates").click()
    expect(alert.nth(1)).to_contain_text("plenty")
    expect(page.get_by_test_id("stDataFrame").first).to_contain_text("⚠ plenty")
    expect(page.get_by_test_id("stException")).to_have_count(0)


TOUR = {
    "System and use": "A day in",
    "Candidates": "candidates make",
    "Evidence": "candidates have been looked at",
    "What fits": "meet every requirement",
    "Space and wiring": "connections",
    "The years ahead": "serves",
    "Weighing two": "One large pack or several small ones?",
    "After the purchase": "promise",
    "Prices and assumptions": "The answer compares",
    "The answer": "Buy ",
}


def test_the_whole_tour(page: "playwright_api.Page") -> None:
    expect = playwright_api.expect
    sentence = page.locator("h3")
    for title, words in TOUR.items():
        page.get_by_role("link", name=title).click()
        expect(sentence).to_contain_text(words)
        expect(page.get_by_test_id("stSpinner")).to_have_count(0)
        expect(page.get_by_test_id("stException")).to_have_count(0)
    # draws were made under way, so that the answer tells the chance of being cheapest
    expect(page.get_by_test_id("stMetric").nth(1)).to_be_visible()
    expect(page.get_by_text("of draws").first).to_be_visible()
    # one arrangement is looked at on every screen
    page.get_by_role("link", name="Space and wiring").click()
    expect(sentence).to_contain_text("connections")
    chosen = page.get_by_role("combobox").first
    chosen.click()
    page.keyboard.type("4 × Bollard", delay=30)
    page.keyboard.press("Enter")
    expect(sentence).to_contain_text("4 × Bollard")
    # pointing at a part of the diagram tells its line of the shopping list
    diagram = page.frame_locator("iframe").first
    part = diagram.locator("[data-part]").first
    part.dispatch_event("mouseenter")
    expect(diagram.locator(".told strong")).to_be_visible()
    page.get_by_role("link", name="The years ahead").click()
    expect(sentence).to_contain_text("4 × Bollard")


ARGUMENTS = ("One large or several small", "Cheap or premium")
LOWEST_JS = """() => Math.max(...[...document.querySelectorAll(
    '.st-key-argument [data-testid="stElementContainer"]')].map(
    element => element.getBoundingClientRect().bottom))"""


def choose(page: "playwright_api.Page", question: str, words: str) -> None:
    choice = page.get_by_role("radio", name=question)
    if choice.get_attribute("aria-checked") != "true":
        choice.click()
    expect = playwright_api.expect
    expect(page.locator("h3")).to_contain_text(words)
    expect(page.get_by_test_id("stTable").first).to_contain_text("total cost")
    expect(page.get_by_test_id("stSpinner")).to_have_count(0)
    expect(page.get_by_role("button", name="in words")).to_be_visible()
    page.wait_for_timeout(500)  # charts take their height when they are drawn


def test_each_argument_is_on_one_screen(page: "playwright_api.Page") -> None:
    """Sentence, picture, table and what would change the answer, without scrolling."""
    page.get_by_role("link", name="Weighing two").click()
    for question, words in zip(ARGUMENTS, ("One large pack or", "Cheap or premium?"), strict=True):
        choose(page, question, words)
        assert page.locator(".st-key-argument canvas, .st-key-argument svg.marks").count() >= 2
        assert page.evaluate(LOWEST_JS) <= 900, question
    page.set_viewport_size({"width": 800, "height": 900})
    page.wait_for_timeout(500)
    for label in (*ARGUMENTS, "Any two"):
        box = page.get_by_role("radio", name=label).bounding_box()
        assert box is not None
        assert box["x"] + box["width"] <= 800
        # seen whole: what lies over its right edge is the button itself
        hit = page.evaluate(
            "([x, y]) => document.elementFromPoint(x, y)?.closest('button')?.innerText",
            [box["x"] + box["width"] - 3, box["y"] + box["height"] / 2],
        )
        assert hit == label
    assert page.evaluate("document.documentElement.scrollWidth") <= 800


def test_draws_are_stopped_on_the_way_and_what_they_knew_is_kept(
    page: "playwright_api.Page",
) -> None:
    expect = playwright_api.expect
    page.get_by_role("link", name="Weighing two").click()
    choose(page, ARGUMENTS[0], "One large pack or")
    draws = page.get_by_label("Draws", exact=True)
    draws.fill("100")
    draws.press("Enter")
    expect(page.get_by_text("standard errors of 100 draws")).to_be_visible()
    page.get_by_role("button", name="Until it settles").click()
    expect(page.get_by_text("Going on.")).to_contain_text("100 draws: ±")
    page.get_by_role("button", name="Stop").last.click()
    expect(page.get_by_text("Stopped before it settled")).to_be_visible()
    expect(page.get_by_role("button", name="Until it settles")).to_be_visible()
    kept = int(draws.input_value())
    assert kept in (100, 200, 400)
    expect(page.get_by_text(f"standard errors of {kept:,} draws")).to_be_visible()
    page.wait_for_timeout(1500)
    assert int(draws.input_value()) == kept
    expect(page.get_by_test_id("stException")).to_have_count(0)
