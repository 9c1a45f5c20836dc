"""Two tabs on one case: edits of different cells both stand, edits of the same cell are asked.

`TCO_TAB_EDITS` says how many edits the two make in turn, at random.
"""

import os
import random

import pytest

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from playwright.sync_api import Browser

from tests.browser.driver import CHROMIUM, NO_BROWSER, Screen, Server, new_context
from tests.browser.plain_case import read_stored

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not CHROMIUM.exists(), reason=NO_BROWSER)]

EDITS = int(os.environ.get("TCO_TAB_EDITS", "20"))
SEED = int(os.environ.get("TCO_BROWSER_SEED", "20260728"))
FIELDS = tuple(
    ("prices", name)
    for name in ("labour_per_hour", "busbar_price", "switch_price", "monitor_price")
)


def test_edits_of_two_tabs(server: Server, chromium: Browser) -> None:
    chance = random.Random(SEED)
    contexts = [new_context(chromium) for _ in range(2)]
    first = Screen.opened(server, contexts[0], "/prices?case=otterbank")
    first.type_field(("title",), "Two tabs")
    case_id = first.case_id
    tabs = (first, Screen.opened(server, contexts[1], f"/prices?case={case_id}"))
    model = {path: server.document(case_id).get(path) for path in FIELDS}
    asked = shown = 0
    for number in range(EDITS):
        tab, path, price = chance.choice(tabs), chance.choice(FIELDS), float(100 + number)
        tab.type_field(path, f"{price:g}")
        told = f"edit {number}: {path[-1]} {price:g}, seed {SEED}"
        if "changed the same" in tab.alerts():
            asked += 1
            assert server.document(case_id).get(path) == model[path], told  # nothing written over
            mine = chance.random() < 0.5
            tab.press_button("Take mine" if mine else "Leave theirs")
            assert "changed the same" not in tab.alerts(), told
            model[path] = price if mine else model[path]
        else:
            model[path] = price
        document = server.document(case_id)
        assert {p: document.get(p) for p in FIELDS} == model, told
        if "Somebody else on this case" in tab.alerts() and chance.random() < 0.4:
            shown += 1
            tab.press_button("Show it here")
            assert "Somebody else" not in tab.alerts(), told
            for p in FIELDS:
                assert tab.field_shown(p) == ("" if model[p] is None else f"{model[p]:g}"), told
    print(f"{EDITS} edits of two tabs: {asked} asked, {shown} times shown, none lost")
    assert asked > 0
    assert shown > 0
    for context in contexts:
        context.close()


def test_cells_and_rows_of_a_grid_in_two_tabs(server: Server, chromium: Browser) -> None:
    """Other cells stand, the same cell is asked about, and so is a cell of a row taken out."""
    contexts = [new_context(chromium) for _ in range(2)]
    one = Screen.opened(server, contexts[0], "/candidates?case=otterbank")
    grid = one.grid("candidates")
    capacity, price = 4, 5
    grid.type(capacity, 0, "111")
    two = Screen.opened(server, contexts[1], f"/candidates?case={one.case_id}")
    rows = two.grid("candidates").row_count()
    grid.type(capacity, 1, "122")
    two.grid("candidates").type(price, 1, "1330")
    assert "changed the same" not in two.alerts()
    assert "Somebody else on this case" in two.alerts()
    assert candidates(server, one)[1] == ("122", "1330")
    two.press_button("Show it here")
    assert two.grid("candidates").shows(capacity, 1) == "122"

    grid.type(capacity, 2, "144")
    two.grid("candidates").type(capacity, 2, "155")
    assert "changed the same" in two.alerts()
    assert candidates(server, one)[2][0] == "144"
    two.press_button("Take mine")
    assert candidates(server, one)[2][0] == "155"

    one.show("What fits")  # what others did comes in with a change of screen
    one.show("Candidates")
    assert one.grid("candidates").shows(capacity, 2) == "155"
    one.grid("candidates").delete_rows(rows - 1)
    two.grid("candidates").type(price, rows - 1, "1660")
    assert "changed the same" in two.alerts()
    assert len(candidates(server, one)) == rows - 1
    two.press_button("Take mine")
    assert len(candidates(server, one)) == rows
    assert candidates(server, one)[-1][1] == "1660"
    for context in contexts:
        context.close()


def candidates(server: Server, screen: Screen) -> list[tuple[str, str]]:
    """Capacity and price of every candidate in the store, in order."""
    held = read_stored(server.document(screen.case_id)).tables["candidates"]
    return [(row["capacity_ah"], row["price"]) for row in held]
