"""The verdict on a log of capacity tests in one sentence."""

from tco.life.promise import REPLACE_BELOW, OldBank, Promise

CAUTION = (
    "A test at home is evidence for a claim, not proof: the warranty's own words and the maker's "
    "test conditions decide, so send the log with the claim and ask how they test. A smooth fit "
    "cannot foresee a sudden failure of a cell, a board or a joint. Never discharge below the "
    "maker's lowest voltage, keep pumps and alarms on another source during a test, and stop using "
    "a battery that swells, smells, or grows hot."
)
"""What stands below every judgement."""


def verdict_sentence(judged: Promise | OldBank) -> str:
    """The answer in one sentence."""
    if isinstance(judged, OldBank):
        return _old_sentence(judged)
    now = judged.health_today
    if judged.verdict == "no promise":
        return f"No warranty is stated, so no promise can be broken; health is {share(now.middle)}."
    limit, end = share(judged.threshold), judged.warranty_end
    odds = chance(judged.probability_broken or 0.0)
    tense = "was" if end is not None and end < judged.today else "will be"
    return {
        "kept": f"The promise is kept: the chance that health {tense} below {limit} at the end of "
        f"the warranty, {end}, is {odds}.",
        "doubtful": f"The promise is doubtful: there is a chance of {odds} that health {tense} "
        f"below {limit} at the end of the warranty, {end}.",
        "broken": f"The promise is broken: the chance that health {tense} below {limit} at the end "
        f"of the warranty, {end}, is {odds}.",
    }[judged.verdict]


def _old_sentence(old: OldBank) -> str:
    now = old.health_today
    head = {
        "finished": "The old bank is finished",
        "borderline": "The old bank is on the borderline",
        "not finished": "The old bank is not finished",
    }[old.verdict]
    by_rule = chance(old.probability_below_rule)
    parts = [
        f"the chance that it is below {share(REPLACE_BELOW)} of its rated Ah, where the trade "
        f"replaces it (lead-acid: IEEE 450 and 1188, from memory), is {by_rule}"
    ]
    need, by_need = old.needed_health, old.probability_below_need
    if need is None or by_need is None:
        parts.append("what you need of it is not known")
    elif need > 1.0:
        parts.append(
            "even when new it could not carry the essential loads of this case through the year "
            "(too small, or too little charging)"
        )
    else:
        parts.append(
            f"for the loads of this case it needs {share(need)}, and the chance that it is below "
            f"that is {chance(by_need)}"
        )
    return f"{head}, with a health of {share(now.middle)}: {'; '.join(parts)}."


def share(value: float) -> str:
    """A share in percent, for people."""
    return f"{value:.0%}"


def chance(probability: float) -> str:
    """A probability in percent, never quite certain."""
    if probability < 0.01:
        return "under 1%"
    return "over 99%" if probability > 0.99 else f"{probability:.0%}"
