"""The columns of the table of arrangements: one list, read by screen, terminal, JSON and CSV.

Each says what it is called, in which unit it is and how to get it; what reads the list decides
only how a value is written.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from tco.life.health import LONGEST_LIFE_YEARS
from tco.life.records import bought_wh
from tco.result import Result

MONEY = "money"
"""A unit: that of the case's currency."""

NO_POWER = "No power"
"""What hours of a mean year in which essential loads go short are called, in every table."""
NO_POWER_MEANS = "hours in which essential loads go short"
ANY_LOAD_SHORT = "Any load short"
"""Hours in which any load goes short, comfort loads too."""


class Row(NamedTuple):
    """One arrangement in its place."""

    rank: int
    result: Result


@dataclass(frozen=True)
class Column:
    """One column.

    `key` names it in tables, CSV and JSON, with its unit in it. `words` head it on screens (None:
    not shown there), `terminal` in the terminal, where it is told to `terminal_digits`; `unit` is
    metric, MONEY, "%" of a fraction, or "" for what is no quantity. `beyond` stands for what lies
    beyond what is followed (a value that is None). `json`: whether it is there, or its name where
    that differs. `optional`: left out on screens where no row has it.
    """

    key: str
    value: Callable[[Row], Any]
    words: str | None = None
    unit: str = ""
    digits: int = 0
    terminal: str | None = None
    terminal_digits: int = 0
    beyond: float | None = None
    json: bool | str = True
    optional: bool = False

    @property
    def json_key(self) -> str:
        """Its name in JSON; "" where it is not there."""
        return self.json if isinstance(self.json, str) else self.key if self.json else ""

    def plain(self, row: Row) -> Any:
        """The value for a cell: several names become one text."""
        value = self.value(row)
        return "; ".join(value) if isinstance(value, list) else value


def _of(get: Callable[[Result], Any]) -> Callable[[Row], Any]:
    return lambda row: get(row.result)


def _unknown(result: Result) -> list[str]:
    return [c.requirement for c in result.screening.checks if c.verdict == "unknown"]


def _failed(result: Result) -> list[str]:
    return [check.requirement for check in result.screening.failures()]


COLUMNS = (
    Column("rank", lambda row: row.rank, "#", terminal="#"),
    Column(
        "verdict",
        _of(lambda r: "fail" if _failed(r) else "unknown" if _unknown(r) else "pass"),
        words="",
        json=False,
    ),
    Column(
        "arrangement",
        _of(lambda r: r.arrangement.label),
        words="Arrangement",
        terminal="arrangement",
        json="label",
    ),
    Column("candidate", _of(lambda r: r.arrangement.pack.name)),
    Column("chemistry", _of(lambda r: r.arrangement.pack.chemistry.key)),
    Column("series", _of(lambda r: r.arrangement.series)),
    Column("parallel", _of(lambda r: r.arrangement.parallel)),
    Column("layout", _of(lambda r: r.arrangement.layout)),
    Column("packs", _of(lambda r: r.arrangement.packs)),
    Column("feasible", _of(lambda r: r.feasible)),
    Column("verified", _of(lambda r: r.screening.verified)),
    Column("ruled_out_by", _of(_failed)),
    Column(
        "usable_kwh",
        _of(lambda r: r.arrangement.usable_wh / 1000.0),
        words="Usable",
        unit="kWh",
        digits=1,
        terminal="usable",
        terminal_digits=1,
    ),
    Column("mass_kg", _of(lambda r: r.arrangement.mass_kg), "Mass", "kg", terminal="mass"),
    Column("wh_per_kg", _of(lambda r: r.wh_per_kg)),
    Column("wh_per_l", _of(lambda r: r.wh_per_l)),
    Column("price_per_usable_kwh", _of(lambda r: r.price_per_usable_kwh)),
    Column("wiring_cost", _of(lambda r: r.wiring.cost if r.wiring else None)),
    Column("connections", _of(lambda r: r.wiring.connections if r.wiring else None), json=False),
    Column(
        "first_cost", _of(lambda r: r.measures.first_cost), "First cost", MONEY, terminal="to buy"
    ),
    Column(
        "total_cost", _of(lambda r: r.measures.total_cost), "Total cost", MONEY, terminal="in all"
    ),
    Column("annual_cost", _of(lambda r: r.measures.annual_cost), unit=MONEY, terminal="a year"),
    Column("annual_cost_real", _of(lambda r: r.measures.annual_cost_real)),
    Column(
        "cost_per_kwh",
        _of(lambda r: r.measures.cost_per_kwh),
        words="Per kWh",
        unit=MONEY,
        digits=2,
        terminal="a kWh",
        terminal_digits=2,
    ),
    Column(
        "years_to_replacement",
        _of(lambda r: r.life.first_life_years),
        words="Serves",
        unit="years",
        terminal="lasts",
        terminal_digits=1,
        beyond=float(LONGEST_LIFE_YEARS),
    ),
    Column(
        "hours_without_power_per_year",
        _of(lambda r: r.hours_without_power),
        words=NO_POWER,
        unit="h/year",
        terminal=NO_POWER.lower(),
    ),
    Column(
        "hours_without_power_per_year_worn",
        _of(lambda r: r.life.worn_hours_without_power),
        words="When worn",
        unit="h/year",
    ),
    Column("life_ends_by", _of(lambda r: r.life.first_ends_by)),
    Column("hours_any_load_short_per_year", _of(lambda r: r.year["hours_any_load_short"])),
    Column("unserved_kwh_per_year", _of(lambda r: r.year["unserved_wh"] / 1000.0), json=False),
    Column("bought_kwh_per_year", _of(lambda r: bought_wh(r.year) / 1000.0), json=False),
    Column(
        "probability_cheapest",
        _of(lambda r: None if r.risk is None else r.risk.probability_cheapest),
        words="Cheapest",
        unit="%",
        json=False,
        optional=True,
    ),
    Column(
        "assumed_values",
        _of(lambda r: len(r.arrangement.pack.assumed)),
        words="Assumed",
        unit="values",
        json=False,
    ),
    Column(
        "failed_or_unknown",
        _of(lambda r: _failed(r) or _unknown(r)),
        words="Fails on, or not stated",
        json=False,
    ),
)
"""In the order in which they are shown."""
