"""Two tabs on one case: edits of different cells both stand, edits of the same cell are asked.

`TCO_TAB_EDITS` says how many edits the two make in turn, at random.
"""

import os
import random

import pytest

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from playwright.sync_api import Browser

from tests.browser.driver import CHROMIUM, NO_BROWSER, Screen, Server, new_context

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason=NO_BROWSER)

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
