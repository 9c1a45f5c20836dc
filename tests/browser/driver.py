"""What a person does with the app in a browser, and what can be seen and read of it.

`Server` is the app on a port of its own, with a folder of its own for cases; it can be stopped,
killed and started again. `Screen` is one tab. Grids are canvases: what they show is read from the
table they keep for screen readers, and cells are reached by clicks and arrow keys, each checked
there before anything is typed.
"""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Locator, Page, sync_playwright

from tco.workspace import journal
from tco.workspace.database import Folder
from tco.workspace.edits import Path, Value
from tco.workspace.schema.stored import StoredCase
from tco.workspace.store import Store

ROOT = File(__file__).resolve().parents[2]
CHROMIUM = File("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-background-timer-throttling",
    "--disable-backgrounding-occluded-windows",
    "--disable-renderer-backgrounding",
    "--disable-component-update",
    "--disable-sync",
]
NO_BROWSER = f"a real browser is needed at {CHROMIUM}"
SLOWEST_START_S = 60.0
PATIENCE_S = 90.0
CLICK_PATIENCE_S = 25.0
REST_MS = 300
"""At rest: nothing sent and no run begun for so long; an editor waits 150 ms before it reports."""
QUIET_MS = 800
"""Answered: nothing came for so long after what was sent, and nothing runs."""
KEY_MS = 90
"""A key typed faster than that into a canvas cell can be lost."""
TOLD_MS = 280
"""The table for screen readers follows the canvas after 200 ms."""
ROW_PX = 35
MARK = "⚠ "
WORD_JOINER = "\u2060"

_WATCH_JS = """
window.seen = {sent: 0, got: 0, ended: 0, began: 0, entered: 0};
window.WebSocket = class extends WebSocket {
    constructor(...how) {
        super(...how);
        this.addEventListener('message', () => { window.seen.got = performance.now(); });
    }
    send(what) {
        window.seen.sent = performance.now();
        super.send(what);
    }
};
addEventListener('keydown', event => {
    if (event.key === 'Enter') window.seen.entered = performance.now();
}, true);
new MutationObserver(() => {
    const app = document.querySelector('[data-testid="stApp"]');
    const now = app ? app.dataset.testScriptState : '';
    if (app && window.seen.ended && app.dataset.testConnectionState !== 'CONNECTED') {
        window.seen.lost = true;
    }
    if (now === window.seen.state) return;
    window.seen.state = now;
    window.seen[now === 'notRunning' ? 'ended' : 'began'] = performance.now();
}).observe(document, {
    subtree: true, childList: true, attributes: true,
    attributeFilter: ['data-test-script-state', 'data-test-connection-state'],
});
"""
_REST_JS = """
async ([rest, quiet, patience]) => {
    const until = performance.now() + patience;
    let since = performance.now();
    while (performance.now() < until) {
        const app = document.querySelector('[data-testid="stApp"]');
        const seen = window.seen;
        if (app && app.dataset.testConnectionState !== 'CONNECTED') {
            if (seen.ended) return 'disconnected';
        }
        // a run that begins and ends between two drawings is seen by its messages only
        const answered = seen.ended >= seen.sent
            || (seen.got > seen.sent && performance.now() - seen.got >= quiet);
        const rests = app && app.dataset.testScriptState === 'notRunning' && seen.ended > 0
            && answered && !document.querySelector('[data-testid="stSpinner"]');
        if (!rests) since = performance.now();
        if (performance.now() - since >= rest) return 'rest';
        await new Promise(done => setTimeout(done, 20));
    }
    return 'busy ' + JSON.stringify(window.seen);
}
"""
_OPEN = "#portal textarea, #portal input"
_CELLS_JS = """
element => Object.fromEntries([...element.querySelectorAll('td[data-testid^="glide-cell-"]')].map(
    cell => [cell.dataset.testid.slice('glide-cell-'.length), cell.innerText ?? '']))
"""
_SELECTED_JS = """
element => [...element.querySelectorAll('td[aria-selected="true"]')].map(
    cell => cell.dataset.testid.slice('glide-cell-'.length))
"""

_FIELDS_JS = """
() => Object.fromEntries([...document.querySelectorAll('[class*="st-key-"]')].flatMap(element => {
    const input = element.querySelector('.stTextInput input, .stSelectbox input');
    const key = element.className.match(/st-key-(\\S+)-[0-9a-f]{8}(?:\\s|$)/);
    return input && key ? [[key[1], input.value]] : [];
}))
"""


class Disconnected(Exception):  # noqa: N818 - an event that a test waits for
    """The page lost its server."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Server:
    """The app on one port, with its cases in one folder, started as often as asked."""

    def __init__(self, folder: File) -> None:
        self.folder = folder
        self.cases = folder / "cases"
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def log(self) -> File:
        return self.folder / "server.log"

    def start(self) -> None:
        command = [sys.executable, "-m", "streamlit", "run", "app.py"]
        command += ["--server.port", str(self.port)]
        environment = {**os.environ, "TCO_FOLDER": str(self.cases)}
        environment.pop("TCO_DATABASE", None)
        with self.log.open("ab") as out:
            self.process = subprocess.Popen(
                command, cwd=ROOT, env=environment, stdout=out, stderr=subprocess.STDOUT
            )
        until = time.monotonic() + SLOWEST_START_S
        while not self._answers():
            assert self.process.poll() is None, self.log.read_text()
            assert time.monotonic() < until, self.log.read_text()
            time.sleep(0.05)

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.address}/_stcore/health", timeout=2.0) as told:
                return bool(told.status == 200)
        except (urllib.error.URLError, OSError):
            return False

    def stop(self) -> None:
        if self.process is not None:
            self.process.terminate()
            try:
                self.process.wait(timeout=20)
            except subprocess.TimeoutExpired:  # a run that does not end holds it
                self.process.kill()
                self.process.wait()
            self.process = None

    def kill(self) -> None:
        """As by `kill -9`: nothing is tidied up."""
        assert self.process is not None
        os.kill(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self.process = None

    def store(self) -> Store:
        return Store(Folder(self.cases))

    def kept(self, case_id: str) -> StoredCase:
        store = self.store()
        try:
            return store.read(case_id)
        finally:
            store.close()

    def has(self, case_id: str) -> bool:
        """Whether a case is in the store."""
        return (self.cases / f"{case_id}.sqlite").exists()

    def document(self, case_id: str) -> dict[Path, Value]:
        kept = self.kept(case_id)
        return journal.at(kept.base, kept.steps)


@contextmanager
def running(folder: File) -> Iterator[Server]:
    """A server that is there for a while, and is ended by its own process."""
    server = Server(folder)
    server.start()
    try:
        yield server
    finally:
        server.stop()


@contextmanager
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        try:
            yield opened
        finally:
            opened.close()


def new_context(opened: Browser, *, width: int = 1440, height: int = 900) -> BrowserContext:
    context = opened.new_context(viewport={"width": width, "height": height})
    context.grant_permissions(["clipboard-read", "clipboard-write"])
    context.add_init_script(_WATCH_JS)
    context.set_default_timeout(CLICK_PATIENCE_S * 1000)
    return context


@dataclass
class Screen:
    """One tab of the browser."""

    server: Server
    page: Page

    @classmethod
    def opened(cls, server: Server, context: BrowserContext, address: str = "/") -> "Screen":
        screen = cls(server, context.new_page())
        screen.goto(address)
        return screen

    def goto(self, address: str) -> None:
        self.page.goto(f"{self.server.address}{address}")
        self.rest()

    def rest(self, *, ms: int = REST_MS) -> None:
        """Wait until what was done is dealt with: sent, run, and quiet since."""
        told = self.page.evaluate(_REST_JS, [ms, QUIET_MS, PATIENCE_S * 1000])
        if told == "disconnected":
            raise Disconnected
        assert told == "rest", told
        assert self.page.get_by_test_id("stException").count() == 0, self.page.inner_text("body")

    def wait_connected(self) -> None:
        """Wait until the page has found its server again, and loaded anew by itself."""
        self.page.wait_for_function(
            """() => window.seen && window.seen.ended && !window.seen.lost
                && document.querySelector('[data-testid="stApp"]')
                    ?.dataset.testConnectionState === 'CONNECTED'""",
            timeout=PATIENCE_S * 1000,
        )
        self.rest()

    @property
    def case_id(self) -> str:
        found = re.search(r"[?&]case=([a-z0-9-]+)", self.page.url)
        assert found is not None, self.page.url
        return found[1]

    def document(self) -> dict[Path, Value]:
        return self.server.document(self.case_id)

    # --- getting about ----------------------------------------------------------------------

    def show(self, title: str) -> None:
        """Open a screen by its link; where the links do not fit, they are in a menu."""
        self.page.get_by_role("link", name=title, exact=True).click()
        self.rest()

    def reload(self) -> None:
        self.page.reload()
        self.rest()

    def back(self) -> None:
        self.page.go_back()
        self.rest()

    def bar(self) -> str:
        told = self.page.locator(".st-key-bar").inner_text()
        return told.replace(WORD_JOINER, "")

    def kept_at(self) -> str:
        """Since when the bar says that all is kept; "" where it does not."""
        found = re.search(r"Kept, (\d\d:\d\d:\d\d)\.", self.bar())
        return found[1] if found else ""

    def alerts(self) -> str:
        return "\n".join(self.page.get_by_test_id("stAlert").all_inner_texts())

    def press_button(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).first.click()
        self.rest()

    # --- undo and redo ----------------------------------------------------------------------

    def _bar_button(self, key: str) -> Locator:
        return self.page.locator(f".st-key-{key} button:visible")

    def can(self, key: str) -> bool:
        return self._bar_button(key).is_enabled()

    def undo(self) -> None:
        self._bar_button("undo").click()
        self.rest()

    def redo(self) -> None:
        self._bar_button("redo").click()
        self.rest()

    def undo_by_keys(self) -> None:
        self.leave()
        self.page.keyboard.press("Control+z")
        self.rest()

    def redo_by_keys(self) -> None:
        self.leave()
        self.page.keyboard.press("Control+Shift+z")
        self.rest()

    def leave(self) -> None:
        """Click beside everything, so that nothing is open or selected."""
        self.page.locator(".st-key-bar").click(position={"x": 3, "y": 3})
        self.rest()

    # --- fields -----------------------------------------------------------------------------

    def field(self, path: Path) -> Locator:
        """The element of a field, by its path in the case."""
        dotted = "-".join(path)
        return self.page.locator(f'[class*="st-key-{dotted}-"]').first

    def type_field(self, path: Path, text: str, *, enter: bool = True, delay: int = 20) -> None:
        box = self.field(path).locator("input")
        box.click()
        self.page.keyboard.press("Control+a")
        if text:
            self.page.keyboard.type(text, delay=delay)
        else:
            self.page.keyboard.press("Delete")
        if enter:
            self.page.keyboard.press("Enter")
            self.rest()

    def choose(self, path: Path, text: str) -> None:
        """Choose in a select box; a list that closed as the page moved is opened again."""
        box = self.field(path)
        box.evaluate("element => element.scrollIntoView({block: 'center'})")
        self.page.wait_for_timeout(200)
        option = self.page.get_by_role("option", name=text, exact=True)
        for _ in range(4):
            box.get_by_role("button", name="Open").click()
            self.page.wait_for_timeout(400)
            if option.count():
                break
        option.click()
        self.rest()

    def choose_nothing(self, path: Path) -> None:
        self.field(path).get_by_role("button", name="Clear value").click()
        self.rest()

    def field_shown(self, path: Path) -> str:
        return self.field(path).locator("input").input_value()

    def field_shown_as(
        self, path: Path, read: Callable[[str], str], wanted: str, *, within_s: float = 5.0
    ) -> str:
        """What a field shows, as soon as that is what is wanted; else what it shows in the end."""
        until = time.monotonic() + within_s
        while (shown := read(self.field_shown(path))) != wanted and time.monotonic() < until:
            time.sleep(0.05)
        return shown

    def fields_shown(self) -> dict[str, str]:
        """What every field on this screen shows, by its path with "-" between the steps."""
        found: dict[str, str] = self.page.evaluate(_FIELDS_JS)
        return found

    # --- grids ------------------------------------------------------------------------------

    def grid(self, path: str, *, number: int = 0) -> "GridOnScreen":
        """The grid of a list of the case, such as "loads" or "system.spaces"."""
        element = self.page.locator(f'[class*="st-key-{path.replace(".", "-")}-"]').filter(
            has=self.page.get_by_test_id("stDataFrame")
        )
        return GridOnScreen(self, element.nth(number))


@dataclass
class GridOnScreen:
    """A grid, and the keys and clicks that change it. Columns and rows count from nought."""

    screen: Screen
    element: Locator

    @property
    def _page(self) -> Page:
        return self.screen.page

    @property
    def _keys(self) -> Any:
        return self._page.keyboard

    @property
    def is_fixed(self) -> bool:
        """Whether rows cannot be added; only then is there no column to mark rows."""
        return self.element.get_by_role("button", name="Add row").count() == 0

    @property
    def _first(self) -> int:
        return 0 if self.is_fixed else 1

    def cells(self) -> dict[tuple[int, int], str]:
        """Texts that can be seen now, by (column, row), without the mark of what is wrong."""
        found: dict[str, str] = self.element.evaluate(_CELLS_JS)
        first = self._first
        told = {}
        for place, text in found.items():
            column, row = map(int, place.split("-"))
            if column >= first:
                told[column - first, row] = text.strip()
        return told

    def shows(self, column: int, row: int, *, within_s: float = 4.0) -> str:
        """Text of a cell that is, or comes, in sight."""
        until = time.monotonic() + within_s
        while (column, row) not in (found := self.cells()) and time.monotonic() < until:
            time.sleep(0.05)
        return found[column, row]

    def all_cells(self) -> dict[tuple[int, int], str]:
        """Texts of the whole grid, read on the way to its last row; columns as far as seen."""
        self._into_view()
        found: dict[tuple[int, int], str] = {}
        for row in range(self.row_count()):
            if (0, row) not in found:
                self._scroll_to_row(row)
                self._page.wait_for_timeout(TOLD_MS)
                found |= self.cells()
        return found

    def headings(self) -> dict[int, str]:
        """Headings that can be seen now, by column."""
        heads = self.element.locator('th[role="columnheader"]').evaluate_all(
            "all => all.map(head => [head.ariaColIndex, head.textContent])"
        )
        return {int(place) - 1: text for place, text in heads if text}

    def row_count(self) -> int:
        """Rows in the grid, added ones that are still empty among them."""
        told = self.element.locator("table[role=grid]").get_attribute("aria-rowcount")
        return int(told or 0) - (1 if self.is_fixed else 2)

    def selected(self) -> list[tuple[int, int]]:
        first = self._first
        found = []
        for place in self.element.evaluate(_SELECTED_JS):
            column, row = map(int, place.split("-"))
            found.append((column - first, row))
        return found

    def _into_view(self) -> dict[str, float]:
        self.element.scroll_into_view_if_needed()
        box = self.element.get_by_test_id("stDataFrame").bounding_box()
        assert box is not None
        if box["y"] < 120 or box["y"] + min(box["height"], 480) > 890:
            self.element.evaluate("element => element.scrollIntoView({block: 'center'})")
            self._page.wait_for_timeout(150)
            box = self.element.get_by_test_id("stDataFrame").bounding_box()
            assert box is not None
        return dict(box)  # type: ignore[arg-type]

    def _scrolled(self) -> tuple[float, float, float]:
        """How far the grid is scrolled down and to the right, and how high it is. [px]"""
        down, right, high = self.element.locator(".dvn-scroller").evaluate(
            "element => [element.scrollTop, element.scrollLeft, element.clientHeight]"
        )
        return float(down), float(right), float(high)

    def _scroll_to_row(self, row: int) -> float:
        """Scroll until a row can be seen whole; how far its middle is below the grid's top."""
        for _ in range(40):
            down, _, high = self._scrolled()
            top = ROW_PX * (1 + row) - down
            if top < ROW_PX:
                step = top - ROW_PX
            elif top + ROW_PX > high:
                step = top + ROW_PX - high
            else:
                return top + ROW_PX / 2
            box = self._into_view()
            self._page.mouse.move(box["x"] + 200, box["y"] + 60)
            self._page.mouse.wheel(0, step)
            self._page.wait_for_timeout(120)
            if self._scrolled()[0] == down:  # it goes no further: the last rows
                return top + ROW_PX / 2
        raise AssertionError(f"row {row} does not come into view")

    def _click_row(self, row: int, x: float) -> None:
        self._into_view()
        below = self._scroll_to_row(row)
        box = self._into_view()
        self._page.mouse.click(box["x"] + x, box["y"] + below)
        self._page.wait_for_timeout(TOLD_MS)

    def select(self, column: int, row: int) -> None:
        """Select a cell as a person does: look where one is, click or press arrows, look again."""
        assert 0 <= row < self.row_count(), f"row {row} of {self.row_count()}"
        for attempt in range(8):
            here = self.selected() if self._has_keys() else []
            if len(here) != 1 or (attempt == 0 and here[0][1] != row):
                self._click_row(row, 20.0 if self.is_fixed else 60.0)
                if self.is_open():  # it was selected already, and a second click opens it
                    self._keys.press("Escape")
                here = self.selected()
                if len(here) != 1:
                    continue
            at_column, at_row = here[0]
            if (at_column, at_row) == (column, row):
                return
            for key, steps in (
                ("ArrowRight" if column > at_column else "ArrowLeft", abs(column - at_column)),
                ("ArrowDown" if row > at_row else "ArrowUp", abs(row - at_row)),
            ):
                for _ in range(steps):
                    self._keys.press(key)
                    self._page.wait_for_timeout(15)
            self._page.wait_for_timeout(TOLD_MS)
        raise AssertionError(f"cell {column}, {row} is not selected but {self.selected()}")

    def _has_keys(self) -> bool:
        """Whether keys go to this grid."""
        return bool(self.element.evaluate("element => element.contains(document.activeElement)"))

    def is_open(self) -> bool:
        """Whether a cell is open for typing."""
        return self._page.locator(_OPEN).count() > 0

    def type(self, column: int, row: int, text: str, *, rest: bool = True) -> None:
        """Type a text over a cell, and Enter."""
        self.select(column, row)
        self.type_here(text, rest=rest)

    def type_here(self, text: str, *, rest: bool = True) -> None:
        """Type over the cell selected, look whether it stands there, and press Enter."""
        if not self.is_open():
            self._keys.type(text[:1])
            if self._comes_open():
                self._keys.type(text[1:], delay=KEY_MS)
            else:  # a pinned cell beside columns scrolled away opens by Enter only
                self._keys.press("Enter")
                assert self._comes_open(), "the cell does not open"
                self._keys.press("Control+a")
                self._keys.type(text, delay=KEY_MS)
        else:
            self._keys.press("Control+a")
            self._keys.type(text, delay=KEY_MS)
        self._page.wait_for_timeout(150)
        standing = self._page.locator(_OPEN).first.input_value()
        assert standing == text, f"typed {text!r}, but {standing!r} stands in the open cell"
        self._page.wait_for_timeout(150)
        self._keys.press("Enter")
        if rest:
            self.screen.rest()

    def _comes_open(self) -> bool:
        for _ in range(12):
            self._page.wait_for_timeout(60)
            if self.is_open():
                self._page.wait_for_timeout(60)
                return True
        return False

    def choose(self, column: int, row: int, text: str) -> None:
        """Choose in a cell that offers a list."""
        self.select(column, row)
        self._keys.press("Enter")
        self._page.wait_for_timeout(300)
        self._page.get_by_role("option", name=text, exact=True).click()
        self.screen.rest()
        self._move_on()

    def clear(self, column: int, row: int) -> None:
        self.select(column, row)
        self._keys.press("Delete")
        self.screen.rest()
        self._move_on()

    def _move_on(self) -> None:
        """Go up or down a cell: only then the table for screen readers follows the canvas."""
        if self._has_keys():
            here = self.selected()
            self._keys.press("ArrowUp" if here and here[0][1] > 0 else "ArrowDown")
            self._page.wait_for_timeout(TOLD_MS)

    def paste(self, column: int, row: int, block: Sequence[Sequence[str]]) -> None:
        """Paste a block whose first cell comes to stand in the cell given."""
        self.select(column, row)
        self.paste_here(block)

    def paste_here(self, block: Sequence[Sequence[str]]) -> None:
        text = "\n".join("\t".join(line) for line in block)
        self._page.evaluate("text => navigator.clipboard.writeText(text)", text)
        self._keys.press("Control+v")
        self.screen.rest()
        if not self.is_open():
            self._move_on()

    def add_row(self) -> int:
        """Click the row below the last one; the new row is then there. Its number."""
        before = self.row_count()
        for _ in range(4):
            self._click_row(before, 60.0)
            self.screen.rest()
            if self.row_count() == before + 1:
                return before
        raise AssertionError(f"no row was added to {before}")

    def delete_rows(self, *rows: int) -> None:
        """Tick rows and press Delete."""
        before = self.row_count()
        for row in rows:
            self._click_row(row, 18.0)
        self._keys.press("Delete")
        self.screen.rest()
        assert self.row_count() == before - len(rows), (before, rows, self.row_count())
