"""The verdict on a log of capacity tests in a sentence or two."""

import math

from tco.case import Case
from tco.life.cell_balance import Imbalance
from tco.life.cures import WARM_DEGC
from tco.life.old_bank import OldBank, Serves
from tco.life.old_need import OldNeed, old_bank_arrangement, old_need
from tco.life.promise import REPLACE_BELOW, Promise

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
    """The answer in a sentence or two; a cell that drifts is in it."""
    if isinstance(judged, OldBank):
        return " ".join(filter(None, (_old_sentence(judged), _besides(judged))))
    drifts = judged.imbalance is not None and bool(judged.imbalance.caution)
    if judged.verdict == "no promise":
        now = judged.health_today
        bare = f"No warranty is stated, so no promise can be broken; health is {share(now.middle)}."
        return " ".join(filter(None, (bare, _besides(judged))))
    limit, end = share(judged.threshold), judged.warranty_end
    odds = chance(judged.probability_broken or 0.0)
    over = end is not None and end < judged.today
    tense = "was" if over else "will be"
    if judged.verdict == "kept" and drifts and judged.imbalance is not None:
        look = "" if over else f" while the warranty runs (to {end})"
        return (
            f"The promise is kept so far, but {cells_words(judged.imbalance)}: have it looked "
            f"at{look}. The chance that health {tense} below {limit} at the end of the warranty is "
            f"{odds}, but a cell that drifts can end a battery early."
        )
    said = {
        "kept": f"The promise is kept: the chance that health {tense} below {limit} at the end of "
        f"the warranty, {end}, is {odds}.",
        "doubtful": f"The promise is doubtful: there is a chance of {odds} that health {tense} "
        f"below {limit} at the end of the warranty, {end}.",
        "broken": f"The promise is broken: the chance that health {tense} below {limit} at the end "
        f"of the warranty, {end}, is {odds}.",
    }[judged.verdict]
    return " ".join(filter(None, (said, _besides(judged))))


def cells_words(found: Imbalance) -> str:
    """Which cell stands out, by how much, and over what limit."""
    what = "block" if found.cells_per_block > 1 else "cell"
    mv, way = abs(found.odd_mv), "below" if found.odd_mv < 0 else "above"
    where = f"number {found.odd_cell} is {mv:.0f} mV {way} the others"
    if found.apart:
        where += f" (up to {found.limit_mv:.0f} mV between highest and lowest is usual)"
    if not found.growing or found.growth_mv_per_year is None:
        return f"one {what} is out of step: {where}"
    pace = f"the gap grows by {found.growth_mv_per_year:.0f} mV a year"
    if not found.apart:
        pace += f" (up to {found.growth_limit_mv_per_year:.0f} is usual)"
    return f"one {what} drifts: {where}, and {pace}"


def _besides(judged: Promise | OldBank) -> str:
    found = judged.imbalance
    if found is None or not found.caution:
        return ""
    return f"Besides, {cells_words(found)}: have it looked at."


def _old_sentence(old: OldBank) -> str:
    """The bank's own health first, then whether it is enough, and what is missing if not."""
    now = old.health_today
    health = f"health is {share(now.middle)} (8 in 10 sure: {share(now.low)} to {share(now.high)})"
    rule = (
        f"the chance that it is below {share(REPLACE_BELOW)} of its rated Ah, where the trade "
        f"replaces a battery, is {chance(old.probability_below_rule)}"
    )
    head = {
        "finished": "The old bank is finished",
        "borderline": "The old bank is near its end",
        "not finished": f"The old bank is sound{_SOUND_BUT[old.serves]}",
    }[old.verdict]
    return f"{head}: {health}, and {rule}. {_served(old)}"


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


def _served(old: OldBank) -> str:
    """How long essential loads go short, why, and what follows from it."""
    finished = old.verdict == "finished"
    if old.needed_health is None or old.probability_below_need is None:
        return "What your loads need of it is not known."
    short = _hours(old)
    if old.serves == "enough":
        carries = f"carries your essential loads{short and ': they go short ' + short}"
        if not finished:
            return f"It {carries}."
        return (
            f"It still {carries}. But a bank this worn can fail at short notice: choose its "
            "successor in time."
        )
    if old.serves in ("doubtful", "worn too far"):
        return (
            f"Your essential loads need {share(old.needed_health)} of its rated Ah, and the chance "
            f"that it is below that is {chance(old.probability_below_need)}"
            f"{short and '; now they go short ' + short}. A new one of the same size would be "
            "enough."
        )
    if old.need is None:
        raise ValueError("what is missing cannot be known where nothing was simulated")
    text = (
        f"Your essential loads go short {short}, and even a new one of the same size would leave "
        f"{old.need.hours_at(1.0):,.0f} h. {missing_words(old.need, rated_ah=old.rated_ah)}"
    )
    return text if finished else f"{text} Its health is no reason to scrap it."


def _hours(old: OldBank) -> str:
    """The hours short a year at today's health beside those allowed; "" where not known."""
    if old.need is None or old.hours_short is None:
        return ""
    return f"{old.hours_short.middle:,.0f} h a year ({old.need.tolerated_hours:,.0f} h are allowed)"


def missing_words(need: OldNeed, *, rated_ah: float) -> str:
    """What would have to be larger than with a new bank of that size, and by how much."""
    weak, cure = need.weak, need.cure
    factor = None if cure is None else cure.factor
    left = {name: f"{hours:,.0f} h" for name, hours in weak.hours_with.items()}
    if weak.verdict == "battery":
        if factor is None:
            return f"Twice the capacity would leave {left['battery']}: more of it helps most."
        ah = math.ceil(rated_ah * factor / 5.0) * 5
        return f"About {ah} Ah of the same kind, when new, would do."
    if weak.verdict == "charging":
        if factor is None or cure is None or cure.extra is None:
            return f"More charging helps most: twice of it would leave {left['charging']}."
        watts = math.ceil(cure.extra / 10.0) * 10
        return (
            f"Mend the charging, not the bank: about {watts} W more solar ({factor:.1f} times what "
            f"there is) would do; twice the battery would leave {left['battery']}."
        )
    if weak.verdict == "cold":
        return f"In a space kept at {WARM_DEGC:g} degC or more it would leave {left['cold']}."
    return weak.reason


def need_sentence(case: Case) -> str:
    """What the case asks of its old bank, before any test of it; "" where there is none."""
    old = case.system.old_bank
    if old is None:
        return ""
    if old.capacity_ah is None:
        return "The Ah of the old bank are not stated, so whether it is enough cannot be said."
    need = old_need(case, old_bank_arrangement(case))
    size, allowed = f"{old.capacity_ah:g} Ah", f"{need.tolerated_hours:,.0f} h a year are allowed"
    if need.needed_health > 1.0:
        return (
            f"The old bank: even when new its {size} would leave your essential loads short "
            f"{need.hours_at(1.0):,.0f} h a year ({allowed}). "
            f"{missing_words(need, rated_ah=old.capacity_ah)} Whether it is worn out besides, a "
            "capacity test tells."
        )
    return (
        f"The old bank: its {size} are enough for your essential loads as long as it has "
        f"{share(need.needed_health)} of them left ({allowed} to go short); whether it has, a "
        "capacity test tells."
    )


def share(value: float) -> str:
    """A share in percent, for people."""
    return f"{value:.0%}"


def chance(probability: float) -> str:
    """A probability in percent, never quite certain."""
    if probability < 0.01:
        return "under 1%"
    return "over 99%" if probability > 0.99 else f"{probability:.0%}"
