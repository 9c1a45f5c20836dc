"""Lives and ledgers made by hand."""

from types import SimpleNamespace
from typing import Any

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.case import Case, specify
from tco.life.conditions import Bought
from tco.life.health import YEARLY, Life, Replacement, year_ends
from tco.money.ledger import LedgerRow, ledger

FREE: Any = SimpleNamespace(bought=())
"""Charging conditions without a price; the ledger reads nothing else of them."""


def priced(**per_kwh: float) -> Any:
    """Charging conditions with one source of each kind at a price."""
    kinds: Any = per_kwh
    return SimpleNamespace(
        bought=tuple(Bought(k, f"the {k}", 1.0, p, 1.0) for k, p in kinds.items())
    )


def life_of(
    horizon: float, *, replaced: tuple[float, ...] = (), left: float = 0.5, **yearly: float
) -> Life:
    """A life with constant yearly totals."""
    ends = year_ends(horizon)
    parts = np.diff(ends, prepend=0.0)
    totals = {name: parts * yearly.pop(name, 0.0) for name in YEARLY}
    assert not yearly, f"no such totals: {yearly}"
    return Life(
        ends=ends,
        health=np.ones(ends.size),
        in_service=np.ones(ends.size),
        first_life_years=replaced[0] if replaced else None,
        replacements=tuple(Replacement(year, "worn") for year in replaced),
        remaining_share=left,
        yearly=totals,
    )


def bank_of(case: Case, parallel: int = 1) -> Arrangement:
    """The first candidate, in parallel."""
    return Arrangement(specify(case.candidates[0]), 1, parallel)


def rows_of(
    case: Case, life: Life, *, parallel: int = 1, wiring: Any = None, conditions: Any = FREE
) -> tuple[LedgerRow, ...]:
    """Ledger of the first candidate."""
    bank = Bank(bank_of(case, parallel), wiring)
    return ledger(case, bank, life=life, conditions=conditions)


def amount(rows: tuple[LedgerRow, ...], item: str, year: float | None = None) -> float:
    """Sum of the rows of an item, of one time or all."""
    return sum(r.amount for r in rows if r.item == item and year in (None, r.year))
