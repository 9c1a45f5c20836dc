"""Whatever is typed, pasted, taken out, undone or reloaded: the store and the screen agree with it.

A case is typed from nothing; then one thing after another is done at random, and after each all is
compared with a plain model of what was typed (`typist`). `TCO_BROWSER_STEPS` says how many,
`TCO_BROWSER_SEED` which.
"""

import os
from collections.abc import Iterator

import pytest

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from playwright.sync_api import Browser, BrowserContext, expect

from tests.browser.driver import CHROMIUM, NO_BROWSER, Screen, Server, new_context
from tests.browser.plain_case import read_stored
from tests.browser.typist import CANDIDATES, LOADS, PACKS, PRICES, SYSTEM, Typist

pytestmark = pytest.mark.skipif(not CHROMIUM.exists(), reason=NO_BROWSER)

STEPS = int(os.environ.get("TCO_BROWSER_STEPS", "60"))
SEED = int(os.environ.get("TCO_BROWSER_SEED", "20260728"))


@pytest.fixture
def screen(server: Server, chromium: Browser) -> "Screen":
    context = new_context(chromium)
    return Screen.opened(server, context, "/system?case=new")


def test_a_case_typed_at_random_is_in_the_store_and_on_the_screen(screen: Screen) -> None:
    typist = Typist(screen, SEED)
    typist.type_a_case()
    for number in range(STEPS):
        typist.step()
        typist.compare()
        if number % 20 == 19:
            screen.reload()
            typist.compare()
    counted = sorted(typist.kept_after)
    print(f"{STEPS} steps, {typist.written.steps} in the journal, done in the middle within "
          f"{counted[len(counted) // 2]:.2f} s, 95 of 100 {counted[len(counted) * 95 // 100]:.2f} s")  # fmt: skip
