"""What is missing with a pack out: nothing where nobody wants power, and what strings left lack."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import tco
from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Case, specify
from tco.life.conditions import Conditions, conditions
from tco.life.pack_failure_outage import Missing, missing_with_a_pack_out, wanted
from tco.life.year import year_profiles
from tco.money.warranty import NO_CLAIM

DEMO = Path(__file__).parents[2] / "candidates_demo"
PlainCase = Callable[..., Case]


def found(
    case: Case, layouts: Sequence[tuple[int, int]]
) -> tuple[tuple[Missing, ...], Missing, Any]:
    hourly = conditions(case, energy_budget(case))
    pack = specify(case.candidates[0])
    banks = [Bank(Arrangement(pack, s, p), ohm=0.002) for s, p in layouts]
    profiles = year_profiles(banks, hourly, case.assumptions)
    totals = {
        "lost_days": profiles.totals["unserved_days"][:, 0],
        "hours_without_power": profiles.totals["hours_without_power"][:, 0],
    }
    missing = missing_with_a_pack_out(banks, hourly, case.assumptions, **totals)
    return missing, wanted(hourly), totals


def hours(**changes: Any) -> Conditions:
    given: Any = {"lost_day_hours": 4.0, **changes}
    return type("Hours", (), given)()  # type: ignore[no-any-return]


def test_days_on_which_nothing_is_wanted_count_nothing() -> None:
    """Of four days one all day, one for two hours, two not at all; four hours lose a day."""
    load = np.zeros((4, 24))
    load[0] = 30.0
    load[2, 8:10] = 5.0
    assert wanted(hours(essential_w=load.ravel())) == Missing(1.5 / 4.0, 26.0 / 4.0)
    assert wanted(hours(essential_w=np.zeros(96))) == Missing(0.0, 0.0)


def test_a_weekend_user_loses_weekends(plain_case: PlainCase) -> None:
    """A single pack out for a year loses the days with somebody there, and no more."""
    always, _, _ = found(plain_case(), [(1, 1)])
    use = {"days_away_per_month": [20.0] * 12, "months_in_use": [6, 7, 8]}
    away, dark, _ = found(plain_case(use=use), [(1, 1)])
    assert always[0].days == pytest.approx(1.0, abs=0.05)
    # 10 of 30 days, 11 of 31 and 11 of 31
    assert dark.days == pytest.approx(32.0 / 365.0, abs=1.5 / 365.0)
    assert away[0].days <= dark.days


def test_strings_left_are_those_of_a_smaller_bank(plain_case: PlainCase) -> None:
    case = plain_case(load={"power_w": 60.0})
    missing, dark, totals = found(case, [(1, 1), (1, 2), (1, 3), (1, 4)])
    days, short = totals["lost_days"], totals["hours_without_power"]
    for k in (1, 2, 3):
        assert missing[k].days == pytest.approx(max(days[k - 1] - days[k], 0.0) / 365.0, rel=1e-9)
        assert missing[k].hours == pytest.approx(
            max(short[k - 1] - short[k], 0.0) / 365.0, rel=1e-9
        )
    assert missing[0].days == pytest.approx(dark.days - days[0] / 365.0)
    assert missing[0].hours > max(missing[k].hours for k in (1, 2, 3))
    assert missing[1].hours > 0.0


@pytest.mark.parametrize("layouts", [[(1, 2)], [(1, 4), (1, 2)], [(1, 3), (1, 4), (1, 2)]])
def test_a_smaller_bank_that_is_not_listed_is_simulated(
    plain_case: PlainCase, layouts: list[tuple[int, int]]
) -> None:
    """All wired alike, so that a known year and one that is run are of the same bank."""
    case = plain_case(load={"power_w": 60.0})
    listed = dict(zip((1, 2, 3, 4), found(case, [(1, p) for p in (1, 2, 3, 4)])[0], strict=True))
    for (_, parallel), some in zip(layouts, found(case, layouts)[0], strict=True):
        assert some.days == pytest.approx(listed[parallel].days, rel=1e-12)
        assert some.hours == pytest.approx(listed[parallel].hours, rel=1e-12)


def test_only_the_same_pack_in_the_same_series_is_known(plain_case: PlainCase) -> None:
    """A known smaller bank of another pack, though of one name, or in another series is no answer.

    A single string is given as if it lost nothing, which would be found where it is looked up.
    """
    case = plain_case(load={"power_w": 60.0})
    hourly = conditions(case, energy_budget(case))
    one, like_it = specify(case.candidates[0]), specify(case.candidates[0])
    nothing = {"lost_days": np.zeros(2), "hours_without_power": np.zeros(2)}

    def of_two(single: Arrangement) -> Missing:
        banks = [Bank(single), Bank(Arrangement(one, 1, 2))]
        return missing_with_a_pack_out(banks, hourly, case.assumptions, **nothing)[1]

    assert of_two(Arrangement(one, 1, 1)) == Missing(0.0, 0.0)
    assert of_two(Arrangement(like_it, 1, 1)).hours > 0.0
    assert of_two(Arrangement(one, 2, 1)).hours > 0.0


@pytest.mark.parametrize("demo", ["otterbank", "larch_hut"])
def test_the_wiring_of_the_known_smaller_bank_makes_little_difference(demo: str) -> None:
    """Against every bank with a string out run with the wiring it had, as the docstring says."""
    comparison = tco.compare(tco.read_case(f"candidates_demo/{demo}.toml"))
    banks = [result.bank for result in comparison.results]
    days = np.array([result.year["unserved_days"] for result in comparison.results])
    hours = np.array([result.year["hours_without_power"] for result in comparison.results])

    def missing(rows: slice) -> tuple[Missing, ...]:
        return missing_with_a_pack_out(
            banks[rows], comparison.conditions, comparison.case.assumptions,
            lost_days=days[rows], hours_without_power=hours[rows],
        )  # fmt: skip

    known = missing(slice(None))
    run = [missing(slice(row, row + 1))[0] for row in range(len(banks))]  # none is listed
    apart = [abs(a.days - b.days) for a, b in zip(known, run, strict=True)]
    assert 0.0 < max(apart) < 1e-3
    assert max(abs(a.hours - b.hours) for a, b in zip(known, run, strict=True)) < 1e-2


def test_strings_that_carry_the_load_lose_nothing(plain_case: PlainCase) -> None:
    (two,), dark, _ = found(plain_case(load={"power_w": 5.0}), [(1, 4)])
    assert dark.days > 0.9
    assert two == Missing(0.0, 0.0)


def test_strings_that_cannot_carry_the_current(plain_case: PlainCase) -> None:
    """As much energy, but one string may give 3 A at 12.8 V where 60 W are wanted."""
    weak = {"continuous_discharge_a": 3.0, "peak_discharge_a": 3.0}
    strong, limited = (
        found(plain_case(load={"power_w": 60.0}, candidate=more), [(1, 2)])[0][0]
        for more in ({}, weak)
    )
    assert limited.hours > strong.hours


def test_coldharbour_loses_weekends_with_its_only_string_out_and_nothing_with_one_of_two() -> None:
    """The audit's case: used 50 days a year, so a failure loses no 28 days on end.

    A pack bought at once is waited for through its lead time, of which 50 days in 365 count at the
    price of a day. Of two strings any one carries a weekend.
    """
    comparison = tco.compare(tco.read_case(DEMO / "coldharbour.toml"))
    case = comparison.case
    a_day = case.prices.day_without_power_price * 50.0 / 365.0
    lead_days = {c.name: c.lead_time_days for c in case.candidates}
    alone, two = (
        [r for r in comparison.results if r.arrangement.parallel == count] for count in (1, 2)
    )
    assert len(alone) > 5
    assert len(two) > 5
    for result in alone:
        at_once = result.failures.first.way == NO_CLAIM
        np.testing.assert_allclose(
            result.failures.first.outage[at_once],
            lead_days[result.arrangement.pack.name] * a_day,
            rtol=1e-9,
            err_msg=result.arrangement.label,
        )
    assert sum((result.failures.first.way == NO_CLAIM).sum() for result in alone) > 20
    for result in two:
        np.testing.assert_array_equal(
            result.failures.first.outage, 0.0, err_msg=result.arrangement.label
        )
