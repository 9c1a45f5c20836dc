"""What a second published model of ageing says beside the one the result rests on."""

from tco.life.second_opinion import SecondOpinion, second_opinion
from tco.report.years.first_bank import at_its_end, when_words
from tco.result import Result

MODEL = "Wang 2011"

FAR_APART = 0.05
"""Share of the new capacity from which two models disagree rather than agree. Our choice."""


def second_of(result: Result) -> SecondOpinion | None:
    """The second model for an arrangement, at the times of its life; None where it has none."""
    return second_opinion(
        result.arrangement.pack.chemistry,
        result.year,
        horizon_years=float(result.life.ends[-1]),
    )


def second_sentence(result: Result, second: SecondOpinion | None) -> str:
    """Both models' health of the first bank at the end of its service; "" without a second."""
    if second is None:
        return ""
    life = result.life
    ours, theirs = at_its_end(life.health, life), at_its_end(second.health, life)
    text = (
        f"By our main model (Naumann 2018 and 2020) {ours:.0%} of the first bank's capacity is "
        f"left {when_words(life)}, by a second one ({MODEL}) "
        f"{theirs:.0%}: "
    )
    apart = abs(ours - theirs)
    if apart < FAR_APART:
        return f"{text}the two agree within {max(1, round(100 * apart))} percent of new."
    return (
        f"{text}where two published models are that far apart, count on the range between them "
        "and not on either."
    )
