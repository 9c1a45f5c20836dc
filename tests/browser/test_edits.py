"""Whatever is typed, pasted, taken out, undone or reloaded: the store and the screen agree with it.

A case is typed from nothing; then one thing after another is done at random, and after each all is
compared with a plain model of what was typed (`typist`). `TCO_BROWSER_STEPS` says how many,
`TCO_BROWSER_SEED` which.
"""

import os
from collections.abc import Callable, Iterator

import pytest

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from playwright.sync_api import Browser, BrowserContext, expect

from tests.browser.driver import CHROMIUM, NO_BROWSER, Screen, Server, new_context
from tests.browser.plain_case import read_stored
from tests.browser.typist import CANDIDATES, LOADS, PACKS, PRICES, SYSTEM, Typist

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not CHROMIUM.exists(), reason=NO_BROWSER)]

STEPS = int(os.environ.get("TCO_BROWSER_STEPS", "60"))
SEED = int(os.environ.get("TCO_BROWSER_SEED", "20260728"))


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    made = new_context(chromium)
    yield made
    made.close()


@pytest.fixture
def screen(server: Server, context: BrowserContext) -> Screen:
    return Screen.opened(server, context, "/system?case=new")


@pytest.fixture
def typist(screen: Screen) -> Typist:
    """Somebody at an empty case, its title typed, on the screen of prices."""
    made = Typist(screen, SEED)
    made.begin()
    return made


def test_a_case_typed_at_random_is_in_the_store_and_on_the_screen(screen: Screen) -> None:
    typist = Typist(screen, SEED)
    typist.type_a_case()
    for number in range(STEPS):
        typist.step()
        typist.compare()
        if number % 100 == 99:
            print(f"{number + 1} steps", flush=True)
        if number % 20 == 19:
            screen.reload()
            typist.compare()
    took = sorted(typist.kept_after)
    half, most = took[len(took) // 2], took[len(took) * 95 // 100]
    print(f"{STEPS} steps, {typist.written.steps} in the journal; each done and at rest within "
          f"{half:.2f} s in the middle, {most:.2f} s 95 times of 100")  # fmt: skip


def test_twelve_loads_pasted_and_one_more_cell_typed(typist: Typist) -> None:
    typist.go(SYSTEM)
    typist.paste("loads", 0, 0, LOADS)
    typist.compare()
    typist.type_cell("loads", 7, "quantity", "3")
    typist.compare()
    typist.type_cell("loads", 11, "when", "9-12")
    typist.compare()
    assert len(typist.written.now.tables["loads"]) == 12


def test_five_candidates_pasted_and_one_more_cell_typed(typist: Typist) -> None:
    typist.go(CANDIDATES)
    typist.paste("candidates", 0, 0, PACKS[:5])
    typist.compare()
    typist.type_cell("candidates", 2, "price", "499")
    typist.compare()
    assert "5 candidates make" in typist.screen.page.locator("h3").first.inner_text()


def test_months_of_a_charger_stay_when_another_of_its_cells_is_typed(typist: Typist) -> None:
    typist.go(SYSTEM)
    typist.add_row("sources.engine", "Engine")
    typist.add_row("sources.shore", "Hook-up")
    engine, hook_up = 5, 6
    for line, month, text in ((engine, 4, "2.5"), (engine, 10, "1"), (hook_up, 1, "11")):
        typist.type_month(line, month, text)
        typist.compare()
    typist.type_cell("sources.engine", 0, "rating_a", "70")
    typist.compare()
    typist.type_cell("sources.shore", 0, "name", "Marina")
    typist.compare()
    typist.type_cell("sources.shore", 0, "efficiency", "88")
    typist.compare()
    shown = typist.screen.grid("climate").cells()
    assert (shown[4, engine], shown[10, engine], shown[1, hook_up]) == ("2.5", "1", "11")


def test_a_reload_and_every_way_back_come_to_the_same_case(typist: Typist) -> None:
    screen = typist.screen
    typist.type_field("prices", "inflation", "2.75")
    typist.compare()
    here = screen.case_id
    screen.reload()
    assert screen.case_id == here
    typist.compare()
    typist.go(SYSTEM)
    typist.add_row("loads", "Lamp")
    typist.compare()
    for _ in range(3):  # the address is written after the screen: a press may only take it off
        screen.back()
        assert screen.case_id == here
        if screen.page.url.split("?")[0].endswith("/prices"):
            break
    typist.title = PRICES
    typist.compare()
    other = Screen.opened(screen.server, screen.page.context, f"/system?case={here}")
    assert other.grid("loads").shows(0, 0) == "Lamp"
    assert other.case_id == here
    other.page.close()


def test_a_server_started_again_comes_back_to_the_case(
    new_server: Callable[[], Server], context: BrowserContext
) -> None:
    server = new_server()
    typist = Typist(Screen.opened(server, context, "/system?case=new"), SEED)
    typist.begin()
    typist.type_field("prices", "busbar_price", "33.5")
    here = typist.screen.case_id
    field = typist.screen.field(("prices", "switch_price"))
    before = field.get_attribute("class")
    server.stop()
    server.start()
    typist.screen.wait_connected()
    # the page is at work again once the server has drawn it anew: its fields have new keys
    expect(field).not_to_have_class(str(before), timeout=30_000)
    typist.screen.rest()
    typist.compare()
    typist.type_field("prices", "switch_price", "44.5")
    typist.compare()
    assert typist.screen.case_id == here


def test_what_cannot_be_read_is_told_beside_the_grid_and_the_answer_goes_on(
    typist: Typist,
) -> None:
    screen = typist.screen
    typist.go(SYSTEM)
    typist.paste("loads", 0, 0, LOADS[:3])
    typist.type_cell("loads", 1, "power_w", "-50")
    typist.compare()
    assert_beside(screen, "loads", "-50")
    typist.go(CANDIDATES)
    typist.paste("candidates", 0, 0, [*PACKS[:3], PACKS[1]])
    typist.compare()
    assert_beside(screen, "candidates", PACKS[1][0])
    sentence = screen.page.locator("h3").first.inner_text()
    assert "candidates make" in sentence
    typist.type_cell("candidates", 0, "rated_cycles", "4000 @ 80 %")
    typist.compare()
    assert "depth of 80 %" in screen.alerts().replace("\u2060", "")
    assert "candidates make" in screen.page.locator("h3").first.inner_text()
    # what was wrong is mended where it was typed, and the message goes
    typist.type_cell("candidates", 3, "name", "Another")
    typist.compare()
    assert "4 candidates make" in screen.page.locator("h3").first.inner_text()


def assert_beside(screen: Screen, table: str, words: str) -> None:
    """A message with some words stands right under a grid."""
    told = screen.page.locator(
        f'[class*="st-key-{table}-"] + [data-testid="stElementContainer"] [data-testid="stAlert"]'
    )
    expect(told).to_contain_text(words)


def test_a_block_pasted_into_an_open_cell_is_spread_over_cells_and_rows(typist: Typist) -> None:
    typist.go(SYSTEM)
    typist.add_row("loads", "Lamp")
    grid = typist.grid("loads")
    after = typist.written.begin()
    after.tables["loads"] = [
        {"name": "Lamp"}, {"name": "Fan", "power_w": "30"}, {"name": "Pump", "power_w": "40"},
    ]  # fmt: skip
    grid.select(0, grid.add_row())
    typist.screen.page.keyboard.press("Enter")
    typist.screen.page.wait_for_timeout(400)
    assert grid.is_open()
    grid.paste_here([["Fan", "30"], ["Pump", "40"]])
    typist.screen.page.keyboard.press("Enter")
    typist.screen.rest()
    typist.written.done(after)
    typist.compare()


def test_undo_by_keys_with_a_cell_selected_takes_back_one_step(typist: Typist) -> None:
    typist.go(SYSTEM)
    typist.add_row("loads", "Lamp")
    typist.type_cell("loads", 0, "power_w", "24")
    typist.type_cell("loads", 0, "quantity", "4")
    typist.compare()
    keys = typist.screen.page.keyboard
    typist.grid("loads").select(1, 0)
    keys.press("Control+z")
    typist.screen.rest()
    typist.written.undo()
    typist.compare()
    typist.grid("loads").select(1, 0)
    keys.press("Control+Shift+z")
    typist.screen.rest()
    typist.written.redo()
    typist.compare()


def test_undo_by_keys_in_a_field_loses_nothing_that_can_not_be_made_again(typist: Typist) -> None:
    """What the keys do while a text is being typed: see the last lines."""
    screen = typist.screen
    typist.type_field("prices", "busbar_price", "31.5")
    typist.compare()
    screen.type_field(("prices", "switch_price"), "77", enter=False)
    screen.page.keyboard.press("Control+z")
    screen.rest()
    kept = screen.server.kept(screen.case_id).steps
    if kept[-1].kind == "undo":  # the keys went to the case: it is one step back, not more
        typist.written.undo()
        assert read_stored(screen.document()).fields == typist.written.now.said().fields
        screen.page.keyboard.press("Control+Shift+z")
        screen.rest()
        typist.written.redo()
    assert read_stored(screen.document()).fields == typist.written.now.said().fields


def test_names_with_emoji_are_pasted_as_they_are(typist: Typist) -> None:
    typist.go(SYSTEM)
    block = [["🔥🔥🔥🔥", "30"], ["ab🔋cd", "40"], ["Lamp <b>𝔵</b> & \\frac", "50"]]
    typist.paste("loads", 0, 0, block)
    typist.compare()
    assert [row["name"] for row in typist.written.now.tables["loads"]] == [n for n, _ in block]
