"""The verdict on a log of capacity tests in a sentence or two."""

import math
from datetime import date

from tco.case import Case
from tco.checkup.cell_balance import Imbalance
from tco.checkup.health_fit import DAYS_PER_YEAR
from tco.checkup.old_bank import OldBank, Serves
from tco.checkup.old_need import LOWEST_HEALTH, OldNeed
from tco.checkup.promise import REPLACE_BELOW, Promise, add_years
from tco.life.cures import MOST_FACTOR, WARM_DEGC, Enlargement
from tco.sentences import degc, joined, says

CAUTION = (
    "A test at home is evidence for a claim, not proof: the warranty's own words and the maker's "
    "test conditions decide, so send the log with the claim and ask how they test. A smooth fit "
    "cannot foresee a sudden failure of a cell, a board or a joint. Never discharge below the "
    "maker's lowest voltage, keep pumps and alarms on another source during a test, and stop using "
    "a battery that swells, smells, or grows hot."
)
"""What stands below every judgement."""

RULE = (
    f"Below {REPLACE_BELOW:.0%} of the rated Ah the trade replaces a battery: for lead-acid by "
    "IEEE 450 and 1188 (from memory), for others by common practice."
)
"""Whence the rule by which an old bank is finished."""

FAULTY_CELL = (
    "A cell out of step may be a fault of its own: ask the seller whether the warranty covers it."
)
"""What stands beside the claim where a cell stands out."""


def verdict_sentence(judged: Promise | OldBank) -> str:
    """The answer in a few sentences: `headline` and `detail`."""
    return joined(" ", (headline(judged), detail(judged)))


def headline(judged: Promise | OldBank) -> str:
    """The answer with its figures; a cell that stands out is in it."""
    if isinstance(judged, OldBank):
        return _with_cells(_old_headline(judged), judged)
    now, cells = judged.health_today, judged.imbalance
    if judged.verdict == "no promise":
        bare = f"No warranty is stated, so no promise can be broken; health is {share(now.middle)}."
        return _with_cells(bare, judged)
    limit, end = share(judged.threshold), judged.warranty_end
    odds, tense = chance(judged.probability_broken or 0.0), _tense(judged)
    if judged.verdict == "kept" and cells is not None and cells.caution:
        look = "" if tense == "was" else f" while the warranty runs (to {end})"
        return f"The promise is kept so far, but {cells_words(cells)}: have it looked at{look}."
    said = {
        "kept": f"The promise is kept: the chance that health {tense} below {limit} at the end of "
        f"the warranty, {end}, is {odds}.",
        "doubtful": f"The promise is doubtful: there is a chance of {odds} that health {tense} "
        f"below {limit} at the end of the warranty, {end}.",
        "broken": f"The promise is broken: the chance that health {tense} below {limit} at the end "
        f"of the warranty, {end}, is {odds}.",
    }[judged.verdict]
    return _with_cells(said, judged)


def detail(judged: Promise | OldBank) -> str:
    """What stands below the headline: what follows for an old bank, the limits of the cells."""
    said = []
    cells = judged.imbalance
    if isinstance(judged, OldBank):
        said.append(_old_detail(judged))
    elif judged.verdict == "kept" and cells is not None and cells.caution:
        odds = chance(judged.probability_broken or 0.0)
        said.append(
            f"The chance that health {_tense(judged)} below {share(judged.threshold)} at the end "
            f"of the warranty is {odds}, but a cell that drifts can end a battery early."
        )
    if cells is not None and cells.caution:
        said.append(_cell_limits(cells))
    return joined(" ", said)


def _tense(judged: Promise) -> str:
    over = judged.warranty_end is not None and judged.warranty_end < judged.today
    return "was" if over else "will be"


def cells_words(found: Imbalance) -> str:
    """Which cell stands out, by how much, and how fast that grows."""
    what = "block" if found.cells_per_block > 1 else "cell"
    mv, way = abs(found.odd_mv), "below" if found.odd_mv < 0 else "above"
    where = f"number {found.odd_cell} is {mv:.0f} mV {way} the others"
    if not found.growing or found.growth_mv_per_year is None:
        return f"one {what} is out of step: {where}"
    pace = f"the gap grows by {found.growth_mv_per_year:.0f} mV a year"
    return f"one {what} drifts: {where}, and {pace}"


def _with_cells(said: str, judged: Promise | OldBank) -> str:
    found = judged.imbalance
    if found is None or not found.caution:
        return said
    then = "that may be what ails it" if judged.verdict == "finished" else "have it looked at"
    return f"{said} Besides, {cells_words(found)}: {then}."


def _cell_limits(found: Imbalance) -> str:
    what = "block" if found.cells_per_block > 1 else "cell"
    return (
        f"Usual are up to {found.limit_mv:.0f} mV between the highest and the lowest {what}, and "
        f"up to {found.growth_limit_mv_per_year:.0f} mV more a year (common practice, no source; "
        "compare readings at the same state of charge, at rest)."
    )


def _old_headline(old: OldBank) -> str:
    """The bank's own health first, then how long loads go short."""
    now = old.health_today
    head = {
        "finished": "The old bank is finished",
        "borderline": "The old bank is near its end",
        "not finished": f"The old bank is sound{_SOUND_BUT[old.serves]}",
    }[old.verdict]
    short = "what your loads need of it is not known"
    if old.need is not None and old.hours_without_power is not None:
        short = (
            f"essential loads go short {old.hours_without_power.middle:,.0f} h a year "
            f"({old.need.tolerated_hours:,.0f} h are allowed)"
        )
    elif old.needed_health is not None and old.probability_below_need is not None:
        short = (
            f"that it is below the {share(old.needed_health)} your loads need, "
            f"{chance(old.probability_below_need)}"
        )
    return (
        f"{head}: its health is {share(now.middle)} (8 in 10 sure: {share(now.low)} to "
        f"{share(now.high)}), the chance that it is below {share(REPLACE_BELOW)} of its rated Ah "
        f"is {chance(old.probability_below_rule)}, and {short}."
    )


_SOUND_BUT: dict[Serves, str] = {
    "enough": " and enough for your loads",
    "doubtful": ", but may be too small for your loads",
    "worn too far": ", but worn too far for your loads",
    "too small": ", but too small for your loads",
    "too little charging": "; it is the charging that is too little for your loads",
    "too cold": "; it is the cold that leaves your loads short",
    "something else": ", but your loads go short",
    "unknown": "",
}


def _old_detail(old: OldBank) -> str:
    """Why loads go short, and what follows from it."""
    finished = old.verdict == "finished"
    if old.needed_health is None or old.probability_below_need is None:
        return ""
    if old.serves == "enough":
        if not finished:
            return ""
        return (
            "It still carries your essential loads, but a bank this worn can fail at short "
            "notice: choose its successor in time."
        )
    if old.serves in ("doubtful", "worn too far"):
        within = (
            old.need is not None
            and old.hours_without_power is not None
            and old.hours_without_power.middle <= old.need.tolerated_hours
        )
        return (
            f"{'That is within what is allowed. Still, y' if within else 'Y'}our essential loads "
            f"need {share(old.needed_health)} of its rated Ah, and the chance that it is below "
            f"that is {chance(old.probability_below_need)}; a new one of the same size would be "
            "enough."
        )
    if old.need is None:
        raise ValueError("what is missing cannot be known where nothing was simulated")
    text = says(
        f"Even a new one of the same size would leave {old.need.hours_at(1.0):,.0f} h. ",
        missing_words(old.need, rated_ah=old.rated_ah),
    )
    return text if finished else says(text, " Its health is no reason to scrap it.")


def missing_words(need: OldNeed, *, rated_ah: float) -> str:
    """What would have to be larger than with a new bank of that size, and by how much."""
    larger, sunnier = _larger(need.more_capacity, rated_ah), _sunnier(need.more_solar)
    if need.missing == "battery":
        if not larger:
            return f"{_even_ten_times(need)} Count your loads again before anything is bought."
        return f"{larger} would do{sunnier and f'; so would {sunnier} with a bank of this size'}."
    if need.missing == "charging":
        if not sunnier:
            more = need.weak.hours_with["charging"]
            if more > need.weak.hours_without_power - 1.0:
                return need.weak.reason
            return f"More charging helps most: twice of all of it would leave {more:,.0f} h."
        with_more = need.weak.hours_with["battery"]
        return (
            f"Mend the charging, not the bank: {sunnier} would do, while twice the battery would "
            f"leave {with_more:,.0f} h."
        )
    if need.missing == "cold":
        warm = need.weak.hours_with["cold"]
        return says(
            "In a space kept at ", degc(WARM_DEGC, "g"), f" or more it would leave {warm:,.0f} h."
        )
    return need.weak.reason


def _larger(more: Enlargement | None, rated_ah: float) -> str:
    if more is None or more.factor is None:
        return ""
    ah = math.ceil(rated_ah * more.factor / 5.0) * 5
    return f"About {ah:,} Ah of the same kind, when new,"


def _sunnier(sun: Enlargement | None) -> str:
    if sun is None or sun.factor is None or sun.extra is None:
        return ""
    watts = math.ceil(sun.extra / 10.0) * 10
    return f"about {watts:,} W more solar ({sun.factor:.1f} times what there is)"


def _even_ten_times(need: OldNeed) -> str:
    left = math.inf if need.more_capacity is None else need.more_capacity.hours_without_power
    return f"Even {MOST_FACTOR:g} times its size would leave {left:,.0f} h."


def need_sentence(case: Case, need: OldNeed | None) -> str:
    """What the case asks of its old bank, before any test of it; "" where there is none.

    `need` is that of `tco.checkup.old_need.need_of`.
    """
    old = case.system.old_bank
    if old is None:
        return ""
    if need is None or old.capacity_ah is None:
        return "The Ah of the old bank are not stated, so whether it is enough cannot be said."
    size, allowed = f"{old.capacity_ah:g} Ah", f"{need.tolerated_hours:,.0f} h a year are allowed"
    if need.needed_health > 1.0:
        return says(
            f"The old bank: even when new its {size} would leave your essential loads short "
            f"{need.hours_at(1.0):,.0f} h a year ({allowed}). ",
            missing_words(need, rated_ah=old.capacity_ah),
            " Whether it is worn out besides, a capacity test tells.",
        )
    left = f"as long as it has {share(need.needed_health)} of them left"
    if need.needed_health <= 0.0:
        left = f"even with {share(LOWEST_HEALTH)} of them left"
    return (
        f"The old bank: its {size} are enough for your essential loads {left} ({allowed} to go "
        "short); how many it has, a capacity test tells."
    )


FAR_YEARS = 15.0
"""A crossing further from the purchase is not dated to the reader: the laws of ageing were fitted
to a few years of tests. Our choice."""


def crossing_words(day: date | None, *, bought: date) -> str | None:
    """The month in which health crosses a limit; None where that is too far away to be dated."""
    if day is None or day > add_years(bought, FAR_YEARS):
        return None
    return f"{day:%b %Y}"


FEW_LEARNT = 0.5
"""Share of the uncertainty of the fading that tests must have taken away before they, and not the
expectation, make the forecast. Our choice."""

STALE_YEARS = 1.5
"""Age of the last test from which today's health is no longer measured. Our choice."""

FAR_OFF = 1.2816
"""Standard uncertainties by which a test is beyond its own 80 % band."""


def doubts(judged: Promise | OldBank) -> list[str]:
    """What makes the judgement less sure than it looks, a sentence each."""
    fit = judged.fit
    count = len(fit.tests)
    out: list[str] = []
    number = f"{count} test{'s' * (count > 1)} {'is' if count == 1 else 'are'}"
    if fit.learnt < FEW_LEARNT:
        out.append(
            f"{number} too few, or too close together, to tell how fast it fades: what is said of "
            "the future rests mostly on what was expected beforehand (the tests took away "
            f"{fit.learnt:.0%} of that uncertainty)."
        )
    elif count < 3:
        out.append(
            f"{number} too few to show how much tests scatter: the bands rest on the uncertainty "
            "that is assumed for each."
        )
    years = (judged.today - fit.tests[-1].tested_on).days / DAYS_PER_YEAR
    if years > STALE_YEARS:
        out.append(
            f"The last test is {years:.1f} years old: what is said of today is a forecast until "
            "it is tested again."
        )
    if fit.widened > 1.0:
        out.append(
            f"The tests scatter {fit.widened:.1f} times as much as their stated uncertainty, and "
            "the bands are widened by as much."
        )
    if fit.fade <= 0.0:
        out.append("The tests seem to rise with time, which no battery does: check the meter.")
    off = [
        (test.health - float(fit.health(test.tested_on)[1])) / test.uncertainty
        for test in fit.tests
    ]
    for side, beyond in (
        ("above", [o for o in off if o > FAR_OFF]),
        ("below", [o for o in off if o < -FAR_OFF]),
    ):
        if count > 2 and 2 * len(beyond) > count:
            out.append(
                says(
                    f"Most tests lie {side} the fitted line. Their corrections for temperature and "
                    "current share one error, so those that needed the least correction weigh "
                    "most; to be surer, test near ",
                    degc(25.0),
                    " and at the rated current.",
                )
            )
    return out


def share(value: float) -> str:
    """A share in percent, for people."""
    return f"{value:.0%}"


def chance(probability: float) -> str:
    """A probability in percent, never quite certain."""
    if probability < 0.01:
        return "under 1%"
    return "over 99%" if probability > 0.99 else f"{probability:.0%}"
