"""One draw of one arrangement the slow way: every hour of its life, with nothing interpolated.

Shares the hourly kernel with the engine (its own tests are elsewhere) and nothing else: no levels,
no mean year, and its own sums of money.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tco.bank.bank import Bank
from tco.life.kernel import run_banks
from tco.life.records import BANK, RESULT
from tco.life.runs import hours_of, rules_of
from tco.life.stress import Stress
from tco.life.year import bank_record, bank_tables
from tco.money.draw_ledgers import DrawLedgerInputs
from tco.money.draws import INPUTS, Draws
from tco.physics.cycles import cycle_sums
from tests.life.months import State, run_month
from tests.money.draw_ledger_helpers import Study

MONTH_ENDS = np.cumsum([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24
MONTHS = tuple(zip((0, *MONTH_ENDS[:-1].tolist()), MONTH_ENDS.tolist(), strict=True))


@dataclass(frozen=True)
class SlowDraw:
    """Total cost, present value, and the life of the first bank."""

    cost: float
    first_life: float


@dataclass
class _Bank:
    """A bank on its way through the hours."""

    wired: Bank
    tables: Any
    stress: Stress
    rules: Any
    calendar_life: float
    cycle_life: float
    state: State
    by_age: float
    health: float = 1.0
    calendar: float = 0.0
    cycle: float = 0.0

    def month(self, hours: Any) -> Any:
        """Totals of a month at the health of its beginning; wears the bank."""
        record = bank_record(self.wired, health=self.health, stress=self.stress, by_age=self.by_age)
        out, charge, self.state = run_month(record, self.tables, hours, self.rules, self.state)
        _, weighted = cycle_sums(charge, np.empty(charge.size), self.tables.cycle[0])
        at_rate = self.stress.rate_slope * out["mean_c_rate"] + self.stress.rate_offset
        self.calendar += float(out["calendar_stress"]) / self.calendar_life
        self.cycle += weighted * at_rate**2 * self.wired.unevenness / self.cycle_life
        loss = self.stress.loss(np.array([self.calendar]), np.array([self.cycle]))
        fresh = 1.0 - float(loss[0])
        self.state = (self.state[0] * fresh / self.health, self.state[1], self.state[2])
        self.health = fresh
        return out

    def short(self, years: Any) -> tuple[float, float]:
        """Days and hours a mean year leaves essential loads short at the present health."""
        bank, out = np.zeros(1, dtype=BANK), np.zeros(1, dtype=RESULT)
        bank[0] = bank_record(
            self.wired, health=self.health, stress=self.stress, by_age=self.by_age
        )
        found = np.zeros(2)
        for hours in years:
            run_banks(
                0, 1, bank, np.zeros(1, dtype=np.int64), self.tables, hours, self.rules, out,
                np.zeros((1, 12)), np.zeros((1, 12)),
            )  # fmt: skip
            found += (out["unserved_days"][0], out["hours_without_power"][0])
        days, dark = found / len(years)
        return float(days), float(dark)

    def renew(self) -> None:
        self.state = (self.state[0] / self.health, self.state[1], self.state[2])
        self.health, self.calendar, self.cycle = 1.0, 0.0, 0.0


def every_hour(
    study: Study, inputs: DrawLedgerInputs, row: int, draws: Draws, d: int, *, months: int = 4
) -> SlowDraw:
    """Cost and first life of one arrangement in one draw, on average over the month of purchase.

    A case does not say in which month the bank is bought. `months` of them are gone through.
    """
    found = [
        _bought_in(month, study, inputs, row, draws, d) for month in range(0, 12, 12 // months)
    ]
    return SlowDraw(
        float(np.mean([one.cost for one in found])),
        float(np.mean([one.first_life for one in found])),
    )


def _bought_in(
    month_of_purchase: int, study: Study, inputs: DrawLedgerInputs, row: int, draws: Draws, d: int
) -> SlowDraw:
    """Cost and first life; each year of use begins in the month of purchase.

    Past the horizon the weather years come one after the other. What being short costs a year is
    found by simulating all weather years at the health of each month's end.
    """
    case, result = study.case, study.results[row]
    made, prices, assumptions = study.comparison.conditions, study.case.prices, case.assumptions
    x = dict(zip(INPUTS, draws.common[d].tolist(), strict=True))
    luck = float(draws.luck[d, inputs.candidate[row]])
    hours = hours_of(made)
    hours["essential_w"] *= x["energy_use"]
    hours["other_w"] *= x["energy_use"]
    years = hours.reshape(made.years, -1)
    _, tables, stresses = bank_tables([result.bank], assumptions)
    bank = _Bank(
        result.bank, tables, stresses[0], rules_of(made), x["calendar_life"] * luck,
        x["cycle_life"] * luck,
        (result.arrangement.energy_wh, float(years[0][-720]["space_degc"]), 0.0),
        result.life.by_age,
    )  # fmt: skip
    begin = int(MONTH_ENDS[month_of_purchase - 1])
    bank.month(np.ascontiguousarray(years[draws.weather[d, 0]][begin - 720 : begin]))
    bank.renew()
    money = inputs.money[row]
    d_rate, i_rate = prices.discount_rate + x["discount_rate"], prices.inflation + x["inflation"]

    def paid(amount: float, year: float, trend: float = 0.0) -> float:
        return amount * ((1 + i_rate) * (1 + trend) / (1 + d_rate)) ** year

    cost = (
        money["first_packs"] * x["pack_price"] + money["first_work"] * x["parts_and_labour"]
        + money["first_other"]
    )  # fmt: skip
    day_price = prices.day_without_power_price * x["day_without_power"]
    price = (
        money["swap_packs"] * x["later_pack_price"] + money["swap_work"] * x["parts_and_labour"]
        + money["swap_other"]
    )  # fmt: skip
    new_days, new_dark = bank.short(years)
    tolerated = assumptions.tolerated_hours_without_power
    end = assumptions.end_of_life_of(result.arrangement.pack.chemistry)
    e, spent, dark = 0.0, 0.0, new_dark
    first_life, age, share_left, year = 0.0, 0.0, 0.0, 0
    horizon = assumptions.horizon_years
    trend = prices.pack_price_trend
    oldest = assumptions.longest_life_years
    while year < horizon or (first_life == 0.0 and year < oldest):
        w = draws.weather[d, year] if year < horizon else year % made.years
        bought = days = 0.0
        for number in range(12):
            first, last = MONTHS[(month_of_purchase + number) % 12]
            before, month = bank.health, (last - first) / 8760
            out = bank.month(np.ascontiguousarray(years[w][first:last]))
            age += month
            bought += (
                out["engine_wh"] * made.engine_price_per_kwh
                + out["shore_wh"] * made.shore_price_per_kwh
                + out["generator_wh"] * made.generator_price_per_kwh
            ) / 1000.0
            days += out["unserved_days"]
            e_before, dark_before, regret_before = e, dark, e * (age - month) - spent - price
            days_now, dark = bank.short(years)
            e = day_price * (days_now - new_days)
            spent += month * (e_before + e) / 2.0
            regret = e * age - spent - price
            parts = []
            if bank.health <= end:
                parts.append((before - end) / (before - bank.health))
            if age > oldest + 1e-6:
                parts.append(max(0.0, (oldest - age + month) / month))
            if regret >= 0.0 and dark >= tolerated and e > 0.0:
                dear = -regret_before / (regret - regret_before) if regret_before < 0.0 else 0.0
                over = (
                    (tolerated - dark_before) / (dark - dark_before)
                    if dark_before < tolerated
                    else 0.0
                )
                parts.append(max(dear, over))
            if parts:
                part = min(parts)
                moment = year + number / 12 + part * month
                first_life = first_life or moment
                if year < horizon:
                    cost += paid(money["swap_packs"] * x["later_pack_price"], moment, trend)
                    cost += paid(money["swap_other"], moment)
                    cost += paid(money["swap_work"] * x["parts_and_labour"], moment)
                age = (1.0 - part) * month
                e, spent, dark = 0.0, 0.0, new_dark
                bank.renew()
        year += 1
        if year <= horizon:
            cost += paid(
                bought * x["energy_price"]
                + days * day_price
                + money["yearly_work"] * x["parts_and_labour"] + money["yearly_other"],
                year,
            )  # fmt: skip
        if year == horizon:
            share_left = age
    full = first_life or oldest
    left = max(0.0, 1.0 - share_left / full)
    resale = (
        money["packs_price"] * x["later_pack_price"] * assumptions.resale_share * x["resale"] * left
    )
    cost += paid(money["disposal"] * (1.0 - left), horizon) - paid(resale, horizon, trend)
    return SlowDraw(float(cost), full)
