"""An old bank is judged twice: is it finished, and is it enough for the need."""

import math
from datetime import date, timedelta

import numpy as np
import pytest

from tco.case.capacity_models import CapacityTest
from tco.checkup.old_bank import judge_old_bank
from tco.checkup.old_need import LOWEST_HEALTH, OldNeed, old_bank_arrangement, old_need
from tco.life.cures import Enlargement, WeakPoint
from tco.physics.chemistry import CHEMISTRIES
from tco.report.checkup.words import verdict_sentence

BOUGHT = date(2021, 3, 1)
AGM = CHEMISTRIES["agm"]


def old(health, **given):
    tests = [
        CapacityTest(
            tested_on=BOUGHT + timedelta(days=2200 + 150 * i),
            measured_ah=100.0 * (health + 0.01 * (1 - i)),
            temperature_degc=25.0,
        )
        for i in range(3)
    ]
    return judge_old_bank(
        tests, chemistry=AGM, rated_ah=100.0, bought=BOUGHT, today=tests[-1].tested_on, **given
    )


def need(hours, weak="battery", *, tolerated=48.0, more=None, sun=None):
    """Hours short at a health of 1, 0.65 and 0.3."""
    return OldNeed(
        levels=np.array([1.0, 0.65, 0.3]),
        hours=np.array(hours, dtype=float),
        tolerated_hours=tolerated,
        weak=WeakPoint(weak, hours[0], {}, ""),
        more_capacity=more,
        more_solar=sun,
    )


def test_finished_goes_by_health_alone():
    assert old(0.65).verdict == "finished"
    assert old(0.95).verdict == "not finished"
    assert old(0.80).verdict == "borderline"
    assert {old(h).serves for h in (0.65, 0.8, 0.95)} == {"unknown"}
    for asked in (0.5, 1.0):  # whatever is asked of it
        assert old(0.95, needed_health=asked).verdict == "not finished"
        assert old(0.65, needed_health=asked).verdict == "finished"
    assert old(0.95, need=need([500, 700, 900])).verdict == "not finished"


def test_enough_goes_by_the_need_alone():
    assert old(0.95, needed_health=0.60).serves == "enough"
    assert old(0.65, needed_health=0.50).serves == "enough"  # finished, and still enough
    assert old(0.95, needed_health=0.94).serves == "doubtful"
    assert old(0.85, needed_health=0.97).serves == "worn too far"
    assert old(0.95, needed_health=0.60).probability_below_need == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(
    ("weak", "serves"),
    [
        ("battery", "too small"),
        ("charging", "too little charging"),
        ("cold", "too cold"),
        ("none", "something else"),
    ],
)
def test_what_even_a_new_one_lacks_is_named(weak, serves):
    found = old(0.95, need=need([100, 120, 300], weak))
    assert (found.verdict, found.serves) == ("not finished", serves)
    assert found.needed_health == math.inf
    assert found.probability_below_need == 1.0


@pytest.mark.parametrize(
    ("weak", "capacity", "solar", "missing"),
    [
        ("charging", (3.0, 40.0), (2.0, 40.0), "charging"),
        ("battery", (3.0, 40.0), (2.0, 40.0), "battery"),
        ("charging", (3.0, 40.0), (None, 90.0), "battery"),  # far too small: twice told little
        ("battery", (None, 90.0), (2.0, 40.0), "charging"),
        ("charging", (None, 60.0), (None, 90.0), "battery"),
        ("battery", (None, 90.0), (None, 60.0), "charging"),
        ("cold", (3.0, 40.0), (None, 90.0), "cold"),
    ],
)
def test_what_alone_would_cure_it_is_what_is_missing(weak, capacity, solar, missing):
    more, sun = (Enlargement(factor, None, hours, "") for factor, hours in (capacity, solar))
    assert need([100, 120, 300], weak, more=more, sun=sun).missing == missing


def test_hours_short_follow_the_health_and_its_band():
    """Straight lines: 48 h are passed midway between 1 and 0.65; worse health, more hours."""
    asked = need([0, 96, 300])
    assert asked.needed_health == pytest.approx(0.825)
    assert asked.hours_at(0.825) == pytest.approx(48.0)
    assert (asked.hours_at(1.1), asked.hours_at(0.1)) == (0.0, 300.0)
    found = old(0.95, need=asked)
    short = found.hours_without_power
    assert found.serves == "enough"
    assert short.low < short.middle < short.high
    assert short.middle == pytest.approx(96.0 * (1.0 - found.health_today.middle) / 0.35)
    assert need([0, 10, 40]).needed_health == 0.0  # where the search ended is no need
    stated = old(0.95, need=asked, needed_health=0.99)
    assert stated.needed_health == 0.99
    assert stated.serves == "worn too far"


@pytest.mark.parametrize("health", [0.95, 0.35, 0.28, 0.15])
def test_where_the_search_ends_is_no_need(health):
    """Within the tolerated hours down to the lowest level tried: enough, whatever is left."""
    found = old(health, need=need([0, 1, 28]))
    assert (found.serves, found.probability_below_need) == ("enough", 0.0)
    said = verdict_sentence(found)
    assert "your essential loads need" not in said.lower()
    assert "chance that it is below that" not in said


def test_a_need_that_is_near_is_told_beside_hours_that_are_allowed():
    found = old(0.84, need=need([0, 96, 300]))  # 44 of 48 h; 82.5 % are needed
    assert found.serves == "doubtful"
    assert found.hours_without_power.middle < 48.0
    assert "That is within what is allowed. Still, your essential loads need 8" in (
        verdict_sentence(found)
    )
    worse = old(0.81, need=need([0, 96, 300]))
    assert worse.hours_without_power.middle > 48.0
    assert "within what is allowed" not in verdict_sentence(worse)


def test_need_of_a_case(plain_case):
    """One lamp, 100 Wh a day: 1000 Ah carry it at any health; 4 Ah not even when new."""

    def asked(capacity_ah):
        case = plain_case(system={"old_bank": {"chemistry": "agm", "capacity_ah": capacity_ah}})
        return old_need(case, old_bank_arrangement(case))

    ample, tiny = asked(1000.0), asked(4.0)
    assert ample.needed_health == 0.0
    assert (ample.levels[0], ample.levels[-1]) == (1.0, pytest.approx(LOWEST_HEALTH))
    assert (np.diff(ample.levels) < 0.0).all()
    assert (ample.weak.verdict, ample.more_capacity, ample.more_solar) == ("none", None, None)
    assert tiny.needed_health == math.inf
    assert tiny.missing == "battery"
    middling = [asked(capacity_ah).needed_health for capacity_ah in (40.0, 60.0, 80.0, 120.0)]
    assert middling == sorted(middling, reverse=True)
    assert any(LOWEST_HEALTH < value < 1.0 for value in middling), middling


def test_too_little_charging_is_told_from_too_small_a_bank(plain_case):
    """A load far beyond what the sun gives: a bank of any size runs empty."""
    case = plain_case(
        load={"power_w": 400.0},
        system={"old_bank": {"chemistry": "agm", "capacity_ah": 400.0}},
    )
    found = old_need(case, old_bank_arrangement(case))
    assert found.needed_health == math.inf
    assert found.missing == "charging"
    assert found.more_solar is not None
    judged = old(0.96, need=found)
    assert (judged.verdict, judged.serves) == ("not finished", "too little charging")
