"""Pricing again and again: the same amounts as `compare`, and little of it simulated twice."""

import pytest

from tco.compare import Comparison, compare
from tco.life import runs
from tco.life.year import HEALTH_LEVELS
from tco.weighing.drivers import Driver, drivers, frozen_classes, use
from tco.weighing.repricing import Repricing

SHARES = (0.05, 0.4, 0.9)


def sides(comparison: Comparison):
    return comparison.results[0], comparison.result("2 × Premium 100 (1S2P)")


def turned(driver: Driver, share: float) -> float:
    return driver.low + share * (driver.high - driver.low)


@pytest.mark.parametrize("row", range(7))
def test_every_driver_gives_what_compare_gives(comparison: Comparison, row: int) -> None:
    left, right = sides(comparison)
    frozen = frozen_classes(comparison.case, (left, right))
    driver = drivers(comparison.case, left, right)[row]
    repricing = Repricing(left, right)
    labels = [left.arrangement.label, right.arrangement.label]
    for share in SHARES:
        case = driver.turn(frozen, turned(driver, share))
        whole = compare(case, only=labels)
        for label, found in zip(labels, repricing.priced(case), strict=True):
            expected = whole.result(label)
            assert found.measures == expected.measures, (driver.of, share)
            assert found.year == expected.year
            assert found.life.first_life_years == expected.life.first_life_years


def test_what_was_simulated_for_one_driver_does_not_leak_into_the_next(
    comparison: Comparison,
) -> None:
    """All drivers on one Repricing, to and fro, against a new one each time."""
    left, right = sides(comparison)
    frozen = frozen_classes(comparison.case, (left, right))
    kept = Repricing(left, right)
    for share in (0.9, 0.2, 0.9):
        for driver in drivers(comparison.case, left, right):
            case = driver.turn(frozen, turned(driver, share))
            assert kept.difference(case) == Repricing(left, right).difference(case), driver.of


def test_the_drivers_turn_something(comparison: Comparison) -> None:
    """Each moves at least one side's cost, or the two tests above would mean little."""
    left, right = sides(comparison)
    frozen = frozen_classes(comparison.case, (left, right))
    repricing = Repricing(left, right)
    for driver in drivers(comparison.case, left, right):
        ends = [
            [p.measures.total_cost for p in repricing.priced(driver.turn(frozen, value))]
            for value in (driver.low, driver.high)
        ]
        assert ends[0] != ends[1], driver.of


def test_only_what_bears_on_the_year_is_simulated_again(
    comparison: Comparison, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran = []
    run = runs.run_records

    def counted(banks, *given, **more):
        ran.append(len(banks))
        return run(banks, *given, **more)

    left, right = sides(comparison)
    repricing = Repricing(left, right)
    monkeypatch.setattr(runs, "_REMEMBERED", runs._Remembered())
    repricing.priced(comparison.case)
    monkeypatch.setattr(runs, "run_records", counted)
    found = {}
    for driver in drivers(comparison.case, left, right):
        ran.clear()
        for share in SHARES:
            repricing.priced(driver.turn(comparison.case, turned(driver, share)))
        found[driver.of] = sum(ran)
    # with other loads every bank at every level that is always run; what a claim is believed bears
    # on resistance alone
    assert found["energy used"] >= 2 * (HEALTH_LEVELS // 2 + 1) * len(SHARES)
    assert {driver for driver, banks in found.items() if banks} <= {
        "energy used", "credibility of claims"
    }  # fmt: skip


def test_an_arrangement_stays_in_question_where_compare_no_longer_lists_it(two_packs) -> None:
    case = two_packs(assumptions={"max_packs": 2, "largest_bank_over_need": 6.0})
    comparison = compare(case)
    label = "2 × Cheap 100 (1S2P)"
    right = comparison.result(label)
    less = use(case, 0.3)
    with pytest.raises(KeyError):
        compare(less, only=[label]).result(label)
    (priced,) = Repricing(right).priced(less)
    assert priced.bank.arrangement.label == label
    assert priced.year["delivered_wh"] == pytest.approx(0.3 * right.year["delivered_wh"], rel=0.02)


def test_a_case_without_the_candidate_is_refused(comparison: Comparison) -> None:
    case = comparison.case.model_copy(update={"candidates": comparison.case.candidates[1:]})
    with pytest.raises(LookupError, match="no candidate called 'Cheap 100'"):
        Repricing(comparison.results[0]).priced(case)


def test_whatever_else_changes_is_noticed(comparison: Comparison) -> None:
    """Not only drivers: one Repricing over changes of any part of the case, and back."""
    left, right = sides(comparison)
    case = frozen_classes(comparison.case, (left, right))

    def with_(part: str, **changes: object):
        return case.model_copy(update={part: getattr(case, part).model_copy(update=changes)})

    changed = [
        with_("prices", labour_per_hour=200.0),
        with_("prices", tax_rate=0.3),
        with_("prices", inflation=0.08),
        with_("assumptions", end_of_life_health=0.9),
        with_("assumptions", weather_years=2),
        with_("system", cable_run_m=9.0),
        with_("use", living_degc=30.0),
        case,
    ]
    kept = Repricing(left, right)
    before = kept.difference(case)
    labels = [left.arrangement.label, right.arrangement.label]
    moved = 0
    for other in changed:
        whole = compare(other, only=labels)
        a, b = (whole.result(label).measures.total_cost for label in labels)
        assert kept.difference(other) == a - b
        moved += (a - b) != before
    assert moved >= 5  # of seven; the last is the case itself
