"""Expected failures and renewed lives, against banks simulated one by one."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case.spreads import Spreads
from tco.money.draw_ledgers import run_draw_ledgers
from tco.money.evidence import GammaRate
from tco.money.renewal import ALL, BY_AGE, ONE, cost_of, expect, to_come
from tests.money.draw_ledger_helpers import central, draw_ledger_by_hand, packs_for

YEARS = 10
DISCOUNT, INFLATION, TRENDED = 1.05, 1.02, 1.0
PACKS, REST, RESALE, DISPOSAL = 1000.0, 80.0, 400.0, 30.0
BANK = np.array([PACKS, REST, RESALE, DISPOSAL])
PRICE = 250.0


def costs(gone_after: float, years: int = YEARS, packs: int = 4) -> np.ndarray:
    table = np.zeros((years, len(BY_AGE)))
    age = np.arange(years) + 0.5
    for name, values in {
        "one_pack": 1.0, "one_other": 40.0 + age, "all_pack": packs - 0.5, "all_other": 90.0,
        "gone": age >= gone_after,
    }.items():  # fmt: skip
        table[:, BY_AGE.index(name)] = values
    return table


@dataclass(frozen=True)
class Setting:
    rate: float
    life: float = 6.3
    gone_after: float = 3.0
    spares: int = 0
    single: bool = False
    horizon: float = float(YEARS)
    trended: float = TRENDED

    def expected(self) -> np.ndarray:
        out = np.zeros((4, YEARS))
        expect(
            YEARS, self.horizon, self.life, self.rate, np.full(YEARS, 4.0),
            costs(self.gone_after), self.single, self.spares, BANK, DISCOUNT, INFLATION,
            self.trended, PRICE, 0.0, out,
        )  # fmt: skip
        return out

    def present(self) -> float:
        """All that is expected to be paid: failures, replacements to come, what is left."""
        out = self.expected()
        ends = np.minimum(np.arange(1.0, YEARS + 1.0), self.horizon)
        rest = to_come(0.0, self.life, self.horizon, BANK, DISCOUNT, INFLATION, TRENDED)
        return float((out[1] / DISCOUNT**ends).sum() - out[3].sum() + rest)


def simulated(given: Setting, banks: int, seed: int = 5) -> tuple[np.ndarray, np.ndarray]:
    """Cost and renewals of banks one by one: each failure, replacement and sale as it happens."""
    rng, table = np.random.default_rng(seed), costs(given.gone_after)
    one, other = BY_AGE.index("one_pack"), BY_AGE.index("all_pack")
    paid, renewed = np.zeros(banks), np.zeros(banks)
    for k in range(banks):
        birth, shelf = 0.0, given.spares
        for year in range(YEARS):
            length = min(1.0, given.horizon - year)
            middle, end = year + 0.5 * length, year + length
            while birth + given.life <= middle:
                birth += given.life
                shelf = given.spares
                paid[k] += (
                    PACKS * TRENDED**birth * 1.0 + REST * INFLATION**birth
                ) / DISCOUNT**birth
            for _ in range(rng.poisson(given.rate * 4.0 * length)):
                row = table[int(middle - birth)]
                gone = row[-1] > 0.0 and not given.single
                anew = given.single or (gone and shelf == 0)
                at = other if anew and not given.single else one
                amount = row[at] * PRICE * TRENDED**end + row[at + 1] * INFLATION**end
                paid[k] += amount / DISCOUNT**end
                if anew:
                    birth, shelf = middle, given.spares
                    renewed[k] += 1
                elif gone:
                    shelf -= 1
        while birth + given.life < given.horizon:
            birth += given.life
            paid[k] += (PACKS * TRENDED**birth + REST * INFLATION**birth) / DISCOUNT**birth
        left = 1.0 - (given.horizon - birth) / given.life
        end = given.horizon
        paid[k] += DISPOSAL * (1.0 - left) * (INFLATION / DISCOUNT) ** end
        paid[k] -= RESALE * left * (TRENDED / DISCOUNT) ** end
    return paid, renewed


@pytest.mark.parametrize(
    "given_",
    [
        Setting(0.05),
        Setting(0.4),
        Setting(0.4, spares=1),
        Setting(0.15, spares=2, life=20.0, gone_after=2.0),
        Setting(0.1, single=True),
        Setting(0.3, life=2.2, gone_after=1.0),
        Setting(0.2, horizon=9.4),
    ],
)
def test_expected_is_the_mean_of_banks_one_by_one(given_: Setting) -> None:
    banks = 6000
    paid, renewed = simulated(given_, banks)
    error = paid.std() / banks**0.5
    # in a single pack, several failures of one year renew it once: others are of second order
    assert given_.present() == pytest.approx(paid.mean(), abs=4.0 * error + 1e-9)
    if not given_.single:
        error = renewed.std() / banks**0.5
        assert given_.expected()[2].sum() == pytest.approx(renewed.mean(), abs=4.0 * error + 1e-9)
    assert renewed.mean() > 0.1


def test_no_failures_nothing_renewed() -> None:
    assert not Setting(0.0).expected().any()


def test_plain_failures_by_hand() -> None:
    """The model never gone: rate x packs x one pack each year, at that year's prices and age."""
    out = Setting(0.1, life=99.0, gone_after=99.0).expected()
    np.testing.assert_allclose(out[0], 0.4, rtol=1e-12)
    ends = np.arange(1.0, YEARS + 1.0)
    np.testing.assert_allclose(
        out[1], 0.4 * (PRICE + (40.0 + ends - 0.5) * INFLATION**ends), rtol=1e-12
    )
    assert not out[2:].any()


def test_packs_are_bought_at_the_price_of_the_years_end() -> None:
    out = Setting(0.1, life=99.0, gone_after=99.0, trended=0.9).expected()
    ends = np.arange(1.0, YEARS + 1.0)
    each = PRICE * 0.9**ends + (40.0 + ends - 0.5) * INFLATION**ends
    np.testing.assert_allclose(out[1], 0.4 * each, rtol=1e-12)


def test_no_life_is_shorter_than_a_tenth_of_a_year() -> None:
    found = [Setting(0.1, life=life).expected() for life in (0.0, 0.1)]
    np.testing.assert_array_equal(*found)
    assert np.isfinite(found).all()


def test_replacements_to_come_by_hand() -> None:
    """New at 1, lasting 4 of 10 years: replaced at 5 and 9, three quarters left."""
    wanted = sum((PACKS + REST * 1.02**t) / 1.05**t for t in (5.0, 9.0))
    wanted += (DISPOSAL * 0.25 * 1.02**10 - RESALE * 0.75) / 1.05**10
    found = to_come(1.0, 4.0, 10.0, BANK, DISCOUNT, INFLATION, TRENDED)
    assert found == pytest.approx(wanted, rel=1e-12)


def test_nobody_buys_a_bank_on_the_last_day() -> None:
    """Two lives of five years in ten: one replacement, nothing left, the whole disposal."""
    wanted = (PACKS + REST * 1.02**5) / 1.05**5 + DISPOSAL * (1.02 / 1.05) ** 10
    found = to_come(0.0, 5.0, 10.0, BANK, DISCOUNT, INFLATION, TRENDED)
    assert found == pytest.approx(wanted, rel=1e-12)


def test_what_one_failure_costs_by_hand() -> None:
    """A quarter of the outage of 20 more, and all but the pack at today's money risen by 1.3."""
    table = np.arange(18.0).reshape(2, 9)
    table[1, [1, 2, 5, 6]] = 50.0, 20.0, 80.0, 60.0
    for which, other, outage in ((ONE, 50.0, 20.0), (ALL, 80.0, 60.0)):
        wanted = table[1, which] * 200.0 + (other + 0.25 * outage) * 1.3
        assert cost_of(table, 1, which, 200.0, 1.3, 0.25) == pytest.approx(wanted, rel=1e-12)


def test_a_last_year_in_part_has_failures_in_part() -> None:
    found = Setting(0.1, life=99.0, gone_after=99.0, horizon=9.25).expected()[0]
    np.testing.assert_allclose(found, [*[0.4] * 9, 0.1], rtol=1e-12)


def test_a_single_pack_is_renewed_once_a_year_at_most() -> None:
    """0.4 failures a year, all banks fail alike: renewed with a chance of 1 - exp(-0.4)."""
    found = Setting(0.1, life=99.0, single=True).expected()
    np.testing.assert_allclose(found[2], 1.0 - np.exp(-0.4), rtol=1e-12)
    np.testing.assert_allclose(found[0], 0.4, rtol=1e-12)


def test_a_renewed_life_saves_what_was_to_come_since_the_last_replacement() -> None:
    """Lasting 4 of 10 years; at 5.5 years the bank is of the fourth year."""
    mean = 1e-6
    found = Setting(mean / 4.0, life=4.0, single=True).expected()[3, 5]

    def rest(birth: float) -> float:
        return to_come(birth, 4.0, 10.0, BANK, DISCOUNT, INFLATION, TRENDED)

    assert found == pytest.approx(mean * (rest(4.0) - rest(5.5)), rel=1e-4)


def test_a_spare_covers_the_first_failure_after_the_model_is_gone() -> None:
    rare = [Setting(1e-4, spares=spares, life=99.0).expected() for spares in (0, 1)]
    assert rare[0][2].sum() == pytest.approx(7 * 4e-4, rel=0.01)
    # with one spare a bank is bought anew from the second on: of q = 7 years' failures, q^2 / 2
    assert rare[1][2].sum() == pytest.approx((7 * 4e-4) ** 2 / 2.0, rel=0.01)
    assert rare[1][1].sum() < 0.5 * rare[0][1].sum()


def first_year(rate: float, *, gone_after: float, spares: int) -> float:
    """Cost of the failures of the first year, of which `rate` times four are to be expected."""
    return float(Setting(rate, life=99.0, gone_after=gone_after, spares=spares).expected()[1, 0])


def test_every_failure_of_a_model_never_made_again_takes_a_whole_bank() -> None:
    """The second of a year too: the bank bought after the first is of that model as well."""
    one, whole = PRICE + 40.5 * INFLATION, 3.5 * PRICE + 90.0 * INFLATION
    for mean in (0.04, 0.8, 2.0):
        cost = first_year(mean / 4.0, gone_after=0.0, spares=0)
        assert cost == pytest.approx(mean * whole, rel=1e-12)
    # with a spare every second one, since the shelf is filled with the new bank: up to three
    mean = 0.2
    chance = [np.exp(-mean) * mean**n / f for n, f in ((1, 1), (2, 2), (3, 6))]
    wanted = np.dot(chance, [one, one + whole, 2.0 * one + whole])
    # four or more in a year: 6e-5, of 2 (one + whole) and little more
    missed = mean**4 / 24.0 * 2.5 * (one + whole)
    found = first_year(mean / 4.0, gone_after=0.0, spares=1)
    assert wanted < found < wanted + missed


def test_a_bank_bought_because_the_model_was_gone_is_of_one_still_made() -> None:
    """In the fourth year the model is gone: the first failure takes a whole bank, more one pack.

    Of a bank of the age of 3.5 years and of a new one; nearly all banks still are of the first.
    """
    mean = 1e-3
    out = Setting(mean / 4.0, life=99.0, gone_after=3.0).expected()
    rise = INFLATION**4
    whole, new, old = 3.5 * PRICE + 90.0 * rise, PRICE + 40.5 * rise, PRICE + 43.5 * rise
    assert old > new
    cost = -np.expm1(-mean) * whole + (mean + np.expm1(-mean)) * new
    assert out[1, 3] == pytest.approx(cost, rel=1e-12)


@settings(deadline=None, max_examples=40)
@given(
    rate=st.floats(0.0, 1.0),
    life=st.floats(0.5, 40.0),
    gone=st.floats(0.0, 12.0),
    spares=st.integers(0, 4),
)
def test_failures_are_counted_whatever_is_renewed(
    rate: float, life: float, gone: float, spares: int
) -> None:
    found = Setting(rate, life=life, gone_after=gone, spares=spares).expected()
    assert found[0].sum() == pytest.approx(4.0 * rate * YEARS, rel=1e-9)
    assert found[2].sum() <= found[0].sum() * (1.0 + 1e-9)
    assert np.all(found[2] >= 0.0)


@pytest.mark.parametrize(
    ("packs", "gone_after", "spares"), [(1, 99.0, 0), (4, 2.0, 0), (4, 2.0, 1), (4, 99.0, 0)]
)
def test_failures_that_happen_cost_what_is_expected(
    packs: int, gone_after: float, spares: int
) -> None:
    """Failures drawn, everything else at its centre: their mean is the expected cost."""
    by_hand: Any = draw_ledger_by_hand(
        packs=packs, rates=GammaRate(1e6, 1e6 / 0.06), calendar=0.3 / 6.3,
        market={"discount_rate": 0.05, "inflation": 0.02, "resale_share": 0.4},
        money={
            **packs_for(1000.0), "swap_work": 50.0, "swap_other": 30.0, "disposal": 30.0,
            "pack_price": 250.0, "spares": float(spares),
        },
    )  # fmt: skip
    by_hand = replace(
        by_hand, failure_costs=costs(gone_after)[None], hazard=np.full((1, YEARS), 4.0)
    )
    count = 20_000
    middle = central(Spreads(), candidates=1, years=YEARS)
    many = replace(
        middle,
        common=middle.common.repeat(count, axis=0),
        luck=np.ones((count, 1)),
        failure_u=np.full((count, 1), 0.5),
        batch_u=np.full((count, 1), 0.5),
        event_u=np.random.default_rng(3).random((count, YEARS)),
        weather=middle.weather.repeat(count, axis=0),
    )
    found = run_draw_ledgers(by_hand, many).total_cost[0]
    expected = run_draw_ledgers(by_hand, middle, expected_failures=True).total_cost[0, 0]
    error = found.std() / count**0.5
    assert found.mean() == pytest.approx(expected, abs=4.0 * error)
