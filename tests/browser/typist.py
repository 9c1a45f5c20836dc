"""Somebody who types, pastes and undoes on a screen, writes it down, and compares.

What was typed is written into a plain case (`plain_case`); after each thing done the whole case in
the store, and every grid and field on the screen, are compared with it.
"""

import random
import time
from collections.abc import Callable

from playwright.sync_api import Error

from tco.forms import labels
from tests.browser.driver import GridOnScreen, Screen
from tests.browser.plain_case import (
    SCREENS,
    TABLES,
    PlainCase,
    Written,
    column_names,
    difference,
    meant,
    read_stored,
    shown_rows,
)

SYSTEM, CANDIDATES, PRICES = SCREENS
KEPT_WITHIN_S = 5.0
"""A grid tells what was done to it a moment later, on a busy machine some moments."""

SHOWN_WITHIN_S = 3.0
"""The table for screen readers, and a grid's own drawing, follow what happened."""
ROWS_AT_MOST = {"loads": 16, "candidates": 11, "prices.fuses": 9, "prices.conductors": 18}
ROWS_USUALLY_AT_MOST = 4
GRIDS = {SYSTEM: (*SCREENS[SYSTEM], "climate"), CANDIDATES: ("candidates",)} | {
    PRICES: (*SCREENS[PRICES], "spreads")
}
LOADS = [
    ["Cabin lamps", "24", "", "", "6", "3", "4"],
    ["Cold box", "45", "", "120", "1", "", "8"],
    ["Water pump", "", "5,5", "", "1", "", "0.3"],
    ["Router", "9", "", "", "1", "", "24"],
    ["Kettle", "1800", "", "", "1", "", "0.2"],
    ["Fan", "30 W", "", "", "2", "1", "3"],
    ["Radio", "12", "", "", "1", "", "5"],
    ["Charger", "60", "", "", "2", "", "2.5"],
    ["Bilge pump", "", "4", "", "1", "", "0.1"],
    ["Heater fan", "35", "", "", "1", "", "6"],
    ["Screen", "40", "", "", "1", "", "2"],
    ["Drill", "600", "", "900", "1", "", "0.1"],
]
PACKS = [
    [f"Pack {n}", f"Yard {n % 3}", "lfp", "12.8", f"{100 + 20 * n}", f"{420 + 55 * n}", f"{12 + n}",
     f"{320 + n}", f"{170 + n}", f"{210 + n}", f"{11 + n}"]
    for n in range(8)
]  # fmt: skip
GOOD = {
    "name": ("Cask", "Larder lamp", "Aft pump", "Bench", "Mast light", "Snug"),
    "number": ("3", "7.5", "12", "48", "0.4", "110", "2,5", "260", "0.75"),
    "share": ("12", "37.5", "80", "95 %", "64", "5"),
    "price": ("14", "99.5", "420", "1180", "7"),
    "text": ("6-9, 17-22", "evening", "at the yard", "seen twice", "class C"),
    "months": ("Oct-Apr", "Jun", "all", "Nov-Feb, May"),
    "words": ("upright", "upright, side", "agm, gel"),
}
BAD = ("plenty", "-50", "12 bananas", "see leaflet", "1,250", "??")
FIELDS = {
    SYSTEM: (
        ("system", "mass_limit_kg", "number"),
        ("system", "cable_run_m", "number"),
        ("system.inverter", "continuous_w", "number"),
        ("system.inverter", "efficiency", "share"),
        ("use", "storage_charge", "share"),
        ("climate", "latitude_deg", "number"),
        ("climate", "site", "text"),
    ),
    PRICES: (
        ("", "title", "text"),
        ("prices", "inflation", "share"),
        ("prices", "labour_per_hour", "price"),
        ("prices", "busbar_price", "price"),
        ("prices", "tax_rate", "share"),
        ("prices", "minutes_per_pack", "number"),
        ("assumptions", "autonomy_days", "number"),
        ("assumptions", "credibility", "share"),
        ("assumptions", "longest_life_years", "number"),
    ),
}
CHOICES = {
    SYSTEM: (
        ("system", "take_off", ("busbars", "diagonal", "one end")),
        ("system.required", "charge_display", ("yes", "no")),
        ("use", "commercial", ("yes", "no")),
    ),
    PRICES: (("prices", "own_labour", ("yes", "no")),),
}


class Typist:
    """Does things on a screen, writes them down, and compares."""

    def __init__(self, screen: Screen, seed: int) -> None:
        self.screen = screen
        self.seed, self.random = seed, random.Random(seed)
        self.title = SYSTEM
        self.did: list[str] = []
        self.kept_after: list[float] = []
        self.written = Written(PlainCase())

    # --- beginning --------------------------------------------------------------------------

    def begin(self) -> None:
        """Read off the screen, before anything is typed, what an empty case shows."""
        self.go(PRICES)
        for table in SCREENS[PRICES]:
            grid = self.screen.grid(table)
            cells = grid.all_cells()
            names = column_names(table)
            rows = [
                {names[c]: cells[c, r] for c in range(len(names)) if cells.get((c, r))}
                for r in range(grid.row_count())
            ]
            assert len(rows) > 3
            assert all(row.get(names[0]) for row in rows)
            self.written.usual[table] = rows
        cells = self.screen.grid("spreads").all_cells()
        for row, (name, _, _) in enumerate(labels.SPREADS):
            for column, end in ((1, "low"), (2, "high")):
                self.written.spreads[f"spreads.{name}.{end}"] = cells[column, row]
        self.screen.type_field(("title",), "Typed from nothing")
        kept = self.screen.server.kept(self.screen.case_id)
        self.written.now = read_stored(kept.base)
        self.set_field("title", "Typed from nothing")

    def set_field(self, name: str, text: str) -> None:
        after = self.written.begin()
        after.fields[name] = text
        self.written.done(after)

    # --- comparing --------------------------------------------------------------------------

    def compare(self) -> None:
        """The store, and all that can be seen on this screen, against what was typed."""
        until = time.monotonic() + KEPT_WITHIN_S
        while wrong := difference(self.written.now.said(), read_stored(self.screen.document())):
            assert time.monotonic() < until, self.told("the store holds otherwise", wrong)
            time.sleep(0.1)
        kept = self.screen.server.kept(self.screen.case_id)
        count = len(kept.steps)
        assert count == self.written.steps, self.told(
            f"{count} steps in the journal, {self.written.steps} done",
            [f"{step.number} {step.kind} {step.words}" for step in kept.steps[-4:]],
        )
        until = time.monotonic() + SHOWN_WITHIN_S
        while wrong := self.seen_otherwise():
            assert time.monotonic() < until, self.told("the screen shows otherwise", wrong)
            time.sleep(0.1)

    def told(self, what: str, lines: list[str]) -> str:
        return "\n".join([what, *lines, f"seed {self.seed}; the last things done:", *self.did[-6:]])

    def seen_otherwise(self) -> list[str]:
        wrong = []
        for name in GRIDS.get(self.title, ()):
            grid = self.screen.grid(name)
            wanted, names = shown_rows(self.written, name), column_names(name)
            if grid.row_count() != len(wanted):
                wrong.append(f"{name}: {grid.row_count()} rows on screen, not {len(wanted)}")
                continue
            for (column, row), text in grid.cells().items():
                if row >= len(wanted) or (name in ("climate", "spreads") and column in (0, 3) and (
                    name == "spreads" or column == 0
                )):  # fmt: skip
                    continue
                expected = meant(wanted[row][column], names[column])
                if meant(text, names[column]) != expected:
                    wrong.append(f"{name} column {column} row {row}: {text!r}, not {expected!r}")
        shown = self.screen.fields_shown()
        for dotted, text in shown.items():
            name = dotted.replace("-", ".")
            if name in ("", "undo", "redo") or dotted.startswith("other"):
                continue
            expected = meant(self.written.now.fields.get(name, ""), name)
            if meant(text, name) != expected:
                wrong.append(f"field {name}: {text!r}, not {expected!r}")
        if not self.screen.kept_at():
            wrong.append(f"not said to be kept: {self.screen.bar()[:80]}")
        return wrong

    # --- doing ------------------------------------------------------------------------------

    def do(self, words: str, work: Callable[[], None]) -> None:
        self.did.append(words)
        began = time.monotonic()
        try:
            work()
        except (Error, AssertionError) as error:
            self.screen.page.screenshot(path=self.screen.server.folder / "failed.png")
            raise AssertionError(self.told(str(error), [])) from error
        self.kept_after.append(time.monotonic() - began)

    def go(self, title: str) -> None:
        if title != self.title:
            self.did.append(f"to {title}")
            self.screen.show(title)
            self.title = title

    def grid(self, table: str) -> GridOnScreen:
        return self.screen.grid(table)

    def type_cell(self, table: str, row: int, name: str, text: str) -> None:
        column = column_names(table).index(name)
        after = self.written.begin()
        rows = self.written.table(after, table)
        rows[row][name] = text
        if text == "4000 @ 80 %" and name == "rated_cycles":
            rows[row]["rated_depth"] = "80"
        grid = self.grid(table)
        kind = TABLES[table][column].kind
        if kind in ("choice", "yes_no") and text:
            self.do(f"choose {text!r} at {table} {row} {name}",
                    lambda: grid.choose(column, row, text))  # fmt: skip
        elif text:
            self.do(f"type {text!r} at {table} {row} {name}", lambda: grid.type(column, row, text))
        else:
            self.do(f"empty {table} {row} {name}", lambda: grid.clear(column, row))
        self.written.done(after)
        self.touched(grid, table, column, row)

    def touched(self, grid: GridOnScreen, table: str, column: int, row: int) -> None:
        """The cell touched is among those that can be seen, and so compared."""
        if (column, row) not in grid.cells() and row < grid.row_count():
            grid.select(column, row)
            assert (column, row) in grid.cells(), self.told(f"{table} {column} {row} unseen", [])

    def paste(self, table: str, row: int, column: int, block: list[list[str]]) -> None:
        """Paste a block; lines below the last row become rows."""
        names = column_names(table)
        after = self.written.begin()
        rows = self.written.table(after, table)
        grid = self.grid(table)
        if row == len(rows):
            rows.append({})
            self.do("add a row", lambda: grid.add_row() and None)
        for down, line in enumerate(block):
            if row + down == len(rows):
                rows.append({})
            for right, text in enumerate(line):
                if column + right < len(names):
                    rows[row + down][names[column + right]] = text
        if any(not row for row in rows):
            raise AssertionError("a row without text was pasted")
        self.do(f"paste {block} at {table} {row} {names[column]}",
                lambda: grid.paste(column, row, block))  # fmt: skip
        self.written.done(after)
        self.touched(grid, table, column, row)

    def add_row(self, table: str, name: str) -> None:
        after = self.written.begin()
        rows = self.written.table(after, table)
        rows.append({column_names(table)[0]: name})
        grid = self.grid(table)

        def work() -> None:
            row = grid.add_row()
            grid.type(0, row, name)

        self.do(f"add {name!r} to {table}", work)
        self.written.done(after)

    def delete_rows(self, table: str, *places: int) -> None:
        after = self.written.begin()
        rows = self.written.table(after, table)
        after.tables[table] = [row for place, row in enumerate(rows) if place not in places]
        grid = self.grid(table)
        self.do(f"take rows {places} out of {table}", lambda: grid.delete_rows(*places))
        self.written.done(after)

    def type_field(self, section: str, name: str, text: str) -> None:
        path = (*(section.split(".") if section else ()), name)
        self.do(f"type {text!r} into {'.'.join(path)}",
                lambda: self.screen.type_field(path, text))  # fmt: skip
        self.set_field(".".join(path), text)

    def choose(self, section: str, name: str, text: str) -> None:
        path = (*section.split("."), name)
        if text:
            self.do(f"choose {text!r} in {path}", lambda: self.screen.choose(path, text))
        else:
            self.do(f"choose nothing in {path}", lambda: self.screen.choose_nothing(path))
        self.set_field(".".join(path), text)

    def type_month(self, line: int, month: int, text: str) -> None:
        table, row, name = self.written.month_place(line)
        after = self.written.begin()
        if table:
            after.tables[table][row][f"{name}/{month:02d}"] = text or "0"
        else:
            after.fields[f"{name}/{month:02d}"] = text or ("0" if name.startswith("use") else "")
        grid = self.grid("climate")
        if text:
            self.do(f"type {text!r} at month {month} of {name}",
                    lambda: grid.type(month, line, text))  # fmt: skip
        else:
            self.do(f"empty month {month} of {name}", lambda: grid.clear(month, line))
        self.written.done(after)

    def type_spread(self, row: int, end: str, text: str) -> None:
        name = labels.SPREADS[row][0]
        after = self.written.begin()
        for each in ("low", "high"):
            after.fields.setdefault(
                f"spreads.{name}.{each}", self.written.spread(f"spreads.{name}.{each}")
            )
        typed = text or self.written.spreads[f"spreads.{name}.{end}"]
        after.fields[f"spreads.{name}.{end}"] = typed
        grid, column = self.grid("spreads"), 1 if end == "low" else 2
        if text:
            self.do(f"type {text!r} as {end} of {name}", lambda: grid.type(column, row, text))
        else:
            self.do(f"empty {end} of {name}", lambda: grid.clear(column, row))
        self.written.done(after)

    # --- at random --------------------------------------------------------------------------

    def text_for(self, kind: str, name: str) -> str:
        if kind in ("choice", "yes_no"):
            raise AssertionError(name)
        if kind not in ("name", "text", "words") and self.random.random() < 0.15:
            return self.random.choice(BAD)
        return self.random.choice(GOOD[kind])

    def some_row(self, table: str) -> int:
        return self.random.randrange(len(self.written.rows(table)))

    def room(self, table: str) -> int:
        most = ROWS_AT_MOST.get(table, ROWS_USUALLY_AT_MOST)
        return most - len(self.written.rows(table))

    def step(self) -> None:
        """One thing at random."""
        chance = self.random.random()
        if chance < 0.12:
            self.go(self.random.choice([title for title in GRIDS if title != self.title]))
        elif chance < 0.15:
            self.did.append("reload")
            self.screen.reload()
        if self.random.random() < 0.15 and self.written.past:
            self.undo_and_redo()
            return
        ways: list[Callable[[], None]] = [
            self.random_cell, self.random_cell, self.random_cell, self.random_clear,
            self.random_paste, self.random_add, self.random_delete,
        ]  # fmt: skip
        if self.title in FIELDS:
            ways += [self.random_field, self.random_field, self.random_choice]
        if self.title == SYSTEM:
            ways += [self.random_month, self.random_month]
        if self.title == PRICES:
            ways += [self.random_spread]
        self.random.choice(ways)()

    def some_table(self) -> str:
        weighed = [t for t in SCREENS[self.title] if self.written.rows(t)]
        return self.random.choice(weighed)

    def random_cell(self) -> None:
        table = self.some_table()
        row = self.some_row(table)
        entry = self.random.choice(TABLES[table])
        if entry.kind in ("choice", "yes_no"):
            text = self.random.choice(entry.choices or ("yes", "no"))
        elif entry.field == "rated_cycles" and self.random.random() < 0.5:
            text = "4000 @ 80 %"
        else:
            text = self.text_for("name" if entry.field == "name" else entry.kind, entry.field)
        self.type_cell(table, row, entry.field, text)

    def random_clear(self) -> None:
        table = self.some_table()
        rows = self.written.rows(table)
        row = self.some_row(table)
        full = [name for name in column_names(table) if rows[row].get(name)]
        if len(full) > 1:
            self.type_cell(table, row, self.random.choice(full), "")

    def random_paste(self) -> None:
        table = self.some_table()
        entries = TABLES[table]
        plain = [
            place
            for place in range(len(entries) - 1)
            if all(e.kind in ("number", "share", "price", "text") for e in entries[place:place + 2])
        ]  # fmt: skip
        column = self.random.choice(plain)
        down = self.random.randint(1, 3)
        row = self.some_row(table)
        if self.random.random() < 0.4 and self.room(table) >= down:
            row = len(self.written.rows(table)) - self.random.randint(0, 1)
        if row + down - len(self.written.rows(table)) > self.room(table):
            return
        block = [
            [self.text_for(entry.kind, entry.field) for entry in entries[column : column + 2]]
            for _ in range(down)
        ]
        self.paste(table, row, column, block)

    def random_add(self) -> None:
        table = self.random.choice(SCREENS[self.title])
        if self.room(table) > 0:
            self.add_row(table, f"{self.random.choice(GOOD['name'])} {self.random.randrange(999)}")

    def random_delete(self) -> None:
        table = self.some_table()
        count = len(self.written.rows(table))
        if count > 2:
            gone = self.random.sample(range(count), self.random.randint(1, 2))
            self.delete_rows(table, *sorted(gone))

    def random_field(self) -> None:
        section, name, kind = self.random.choice(FIELDS[self.title])
        text = "" if self.random.random() < 0.15 and name != "title" else self.text_for(kind, name)
        self.type_field(section, name, text)

    def random_choice(self) -> None:
        section, name, choices = self.random.choice(CHOICES[self.title])
        here = self.written.now.fields.get(f"{section}.{name}", "")
        if here and self.random.random() < 0.3:
            self.choose(section, name, "")
        else:
            self.choose(section, name, self.random.choice(choices))

    def random_month(self) -> None:
        lines = self.written.months()
        line, month = self.random.randrange(len(lines)), self.random.randint(1, 12)
        text = self.random.choice(("", "3", "7.5", "11", "0.5", "lots"))
        self.type_month(line, month, text)

    def random_spread(self) -> None:
        row = self.random.randrange(len(labels.SPREADS))
        end = self.random.choice(("low", "high"))
        text = self.random.choice(("", "0.55", "0.9", "1.25", "1.7", "much"))
        self.type_spread(row, end, text)

    def undo_and_redo(self) -> None:
        back = self.random.randint(1, min(3, len(self.written.past)))
        for _ in range(back):
            by_keys = self.random.random() < 0.5
            self.do(f"undo{' by keys' * by_keys}",
                    self.screen.undo_by_keys if by_keys else self.screen.undo)  # fmt: skip
            self.written.undo()
            self.compare()
        for _ in range(self.random.randint(0, back)):
            by_keys = self.random.random() < 0.5
            self.do(f"redo{' by keys' * by_keys}",
                    self.screen.redo_by_keys if by_keys else self.screen.redo)  # fmt: skip
            self.written.redo()
            self.compare()

    def type_a_case(self) -> None:
        """Loads, packs, months, parts, chargers, prices: from nothing."""
        self.begin()
        self.compare()
        self.type_field("prices", "inflation", "2.5")
        self.type_spread(0, "high", "1.15")
        self.type_cell("prices.fuses", 2, "fuse_price", "9.5")
        self.compare()
        self.go(SYSTEM)
        self.add_row("loads", LOADS[0][0])
        self.compare()
        self.type_cell("loads", 0, "power_w", LOADS[0][1])
        self.paste("loads", 1, 0, LOADS[1:])
        self.compare()
        self.type_field("system.inverter", "continuous_w", "2000")
        for table, name in (
            ("system.parts", "Main fuse"), ("sources.solar", "Roof"), ("sources.engine", "Engine"),
            ("sources.shore", "Hook-up"),
        ):  # fmt: skip
            self.add_row(table, name)
            self.compare()
        self.type_cell("system.parts", 0, "kind", "main fuse")
        self.type_cell("sources.solar", 0, "peak_w", "300")
        self.type_cell("sources.engine", 0, "rating_a", "60")
        self.type_cell("sources.shore", 0, "rating_a", "40")
        self.compare()
        for line, month, text in ((6, 3, "1.5"), (6, 4, "2"), (7, 1, "12"), (5, 12, "30")):
            self.type_month(line, month, text)
            self.compare()
        self.go(CANDIDATES)
        self.paste("candidates", 0, 0, PACKS[:5])
        self.compare()
        self.paste("candidates", 5, 0, PACKS[5:])
        self.compare()
