"""What is saved from the screens arrives as a file, is what stands there, and opens again.

Streamlit makes such a file when it is asked for, in a thread that knows of no session.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from playwright.sync_api import Browser, BrowserContext

from tco.case import read_candidates, read_case
from tests.browser.driver import CHROMIUM, NO_BROWSER, Screen, Server, new_context

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not CHROMIUM.exists(), reason=NO_BROWSER)]
PRICE = 5


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    made = new_context(chromium)
    yield made
    made.close()


def saved(screen: Screen, button: str, to: Path) -> Path:
    with screen.page.expect_download() as download:
        screen.page.get_by_role("button", name=button, exact=True).click()
    path = to / download.value.suggested_filename
    download.value.save_as(path)
    return path


def open_cases(screen: Screen) -> None:
    screen.page.locator(".st-key-bar").get_by_role("button", name="Cases").click()
    screen.rest()


def test_every_file_of_a_case_can_be_saved(
    server: Server, context: BrowserContext, tmp_path: Path
) -> None:
    screen = Screen.opened(server, context, "/candidates?case=otterbank")
    screen.grid("candidates").type(PRICE, 0, "777")
    table = saved(screen, "Save as a table (CSV)", tmp_path)
    assert read_candidates(table)[0].price == 777
    open_cases(screen)
    case = saved(screen, "As TOML, for the command line", tmp_path)
    assert read_case(case).candidates[0].price == 777
    screen.reload()  # the list of cases is closed again
    screen.show("After the purchase")
    log = saved(screen, "Save the log (CSV)", tmp_path)
    assert "date" in log.read_text(encoding="utf-8").lower()


def test_a_case_saved_with_its_history_opens_as_it_was(
    server: Server, context: BrowserContext, tmp_path: Path
) -> None:
    screen = Screen.opened(server, context, "/candidates?case=otterbank")
    screen.grid("candidates").type(PRICE, 0, "777")
    screen.grid("candidates").type(PRICE, 1, "4000 @ 80 %")  # what cannot be read goes along
    before, here = screen.document(), screen.case_id
    steps = [step.words for step in server.kept(here).steps]
    open_cases(screen)
    file = saved(screen, "One file with its history and log", tmp_path)
    chooser = screen.page.locator('[data-testid="stPopoverBody"] input[type=file]').first
    chooser.set_input_files(str(file))
    screen.page.get_by_role("button", name="Open these files", exact=True).click()
    screen.rest()
    assert screen.case_id != here
    assert screen.document() == before
    assert [step.words for step in server.kept(screen.case_id).steps] == steps
