"""What a log of capacity tests says, as figures and tables."""

from datetime import date
from typing import Any

import pandas as pd

from tco.columns import NO_POWER
from tco.forms.entry import Units
from tco.report.checkup.words import FAR_YEARS, FAULTY_CELL, chance, crossing_words, share
from tco.report.frames import Figure, words
from tco.sentences import Quantity, joined, says

CLAIMS = {
    "claim now": "Claim now: health is more likely than not below what is promised",
    "test before it lapses": "Not due yet, but it may fall due: test again before the last day",
    "not due": "By its capacity no claim is due, nor likely to fall due",
    "lapsed": "The warranty has ended",
    "no warranty": "No warranty is stated",
}
NOT_WITHIN = f"not in {FAR_YEARS:g} years"
HOW_TO = (
    "Fill the battery until the charger says full, then let it rest for an hour or two.",
    "Set the meter that counts ampere-hours to zero. Note the temperature of the battery.",
    "Draw a steady current with loads you can watch: a twentieth of the rated Ah for lead-acid, a "
    "fifth or less for lithium, and never more than the maker allows.",
    "Stop at the maker's end voltage, not below, and write down the Ah drawn.",
    "Fill it again at once. Lithium must not be charged below the maker's lowest charging "
    "temperature.",
    says(
        "Best at ",
        Quantity(20.0, "degC", bare=True),
        " to ",
        Quantity(25.0, "degC"),
        ". Where the cells can be read, read them at rest, before the test.",
    ),
)
"""How a capacity test is made. Common practice, no source; the maker's instructions come first."""
ONE_SIDE_OF_80 = 1.2816
"""Standard deviations that leave one in ten on either side of a normal distribution."""


def figures(data: dict[str, Any]) -> tuple[Figure, ...]:
    """The figures that describe the judgement first."""
    now = data["health_today"]
    ah = now["median"] * data["rated_ah"]
    found = [
        Figure(
            "Health on that day",
            share(now["median"]),
            f"8 in 10 sure: {share(now['low'])} to {share(now['high'])}; {ah:,.0f} of "
            f"{data['rated_ah']:,.0f} Ah",
        )
    ]
    if data["kind"] == "old bank":
        by_need, need = data["probability_below_need"], data["needed_health"]
        short, when_new = (
            data["hours_without_power_per_year"],
            data["hours_without_power_per_year_new"],
        )
        note = "even a new bank of this size would not do" if data["too_small_when_new"] else (
            "not known what they need"
            if need is None
            else f"they need {share(need)}"
            if need > 0.0
            else f"even {share(data['lowest_health_tried'])} of it would do"
        )  # fmt: skip
        return (
            *found,
            Figure(
                f"Below {share(data['replace_below'])} of rated",
                chance(data["probability_below_rule"]),
                "chance; the trade replaces it there",
            ),
            Figure(
                "Too little for your loads",
                "–" if by_need is None else chance(by_need),
                f"chance; {note}",
            ),
            *(
                ()
                if short is None
                else (
                    Figure(
                        NO_POWER,
                        f"{short['median']:,.0f} h a year",
                        f"{data['tolerated_hours_per_year']:,.0f} h are allowed; a new one of this "
                        f"size: {when_new:,.0f} h",
                    ),
                )
            ),
        )
    limit, bought = share(data["threshold"]), date.fromisoformat(data["bought"])
    crossing = {
        name: crossing_words(None if day is None else date.fromisoformat(day), bought=bought)
        for name, day in data["crossing"].items()
    }
    broken = data["probability_broken"]
    expected = data["forecast_today"]
    return (
        *found,
        Figure(
            "Simulated for your use",
            "–" if expected is None else share(expected),
            "health expected by that day",
        ),
        Figure(
            f"Falls below {limit}",
            crossing["median"] or NOT_WITHIN,
            f"one in ten before {crossing['early']}"
            if crossing["early"]
            else "9 in 10 sure of that",
        ),
        Figure(
            "Promise broken",
            "–" if broken is None else chance(broken),
            f"chance, by {data['warranty_end']}" if data["warranty_end"] else "no warranty stated",
        ),
        Figure(
            "Last day to claim",
            data["last_claim_day"] or "–",
            "the next test is due now"
            if data["next_test"] <= data["today"]
            else f"test again by {data['next_test']}",
        ),
    )


def claim_words(data: dict[str, Any]) -> str:
    """What is to be done about the warranty; "" for an old bank."""
    if data["kind"] == "old bank":
        return ""
    text = CLAIMS[data["claim"]]
    if data["last_claim_day"] and data["claim"] in ("claim now", "test before it lapses"):
        text += (
            f". Last day to claim: {data['last_claim_day']}, {data['notice_days']} days before "
            f"the warranty of {data['warranty_years']:g} years ends"
        )
    uneven = data["cells"] is not None and bool(data["cells"]["caution"])
    if uneven and data["claim"] not in ("lapsed", "no warranty"):
        return f"{text}. {FAULTY_CELL}"
    return f"{text}."


def course(data: dict[str, Any]) -> pd.DataFrame:
    """The fitted band of health by half-year."""
    frame = pd.DataFrame(data["course"])
    return frame.assign(date=pd.to_datetime(frame["date"]))


def points(data: dict[str, Any]) -> pd.DataFrame:
    """The tests, corrected, with the ends of their 80 % band."""
    frame = pd.DataFrame(data["tests"])
    spread = ONE_SIDE_OF_80 * frame["standard_uncertainty"]
    return frame.assign(
        date=pd.to_datetime(frame["date"]),
        low=frame["health"] - spread,
        high=frame["health"] + spread,
    )


def days(data: dict[str, Any]) -> pd.DataFrame:
    """The days to mark: judged on, last day to claim, end of the warranty."""
    named = [("judged on", data["today"])]
    if data["kind"] != "old bank" and data["warranty_end"]:
        named += [
            ("last day to claim", data["last_claim_day"]),
            ("warranty ends", data["warranty_end"]),
        ]
    return pd.DataFrame([{"date": pd.Timestamp(day), "text": text} for text, day in named])


def tests(data: dict[str, Any], units: Units) -> pd.DataFrame:
    """The tests as measured and as corrected; what was assumed only where something was."""
    frame = pd.DataFrame(
        [
            {
                "Date": test["date"],
                "Measured [Ah]": f"{test['measured_ah']:,.1f}",
                "Temperature leaves": f"{test['temperature_fraction']:.1%}",
                "Current leaves": f"{test['rate_fraction']:.1%}",
                "Corrected [Ah]": f"{test['corrected_ah']:,.1f}",
                "Health": f"{test['health']:.1%} ± {test['standard_uncertainty']:.1%}",
                "Assumed": words(joined("; ", test["assumed"]), units),
            }
            for test in data["tests"]
        ]
    )
    return frame if frame["Assumed"].any() else frame.drop(columns="Assumed")


def cells(data: dict[str, Any]) -> tuple[str, pd.DataFrame] | None:
    """How far the cells are apart, in words and by test; None where they were not read."""
    found = data["cells"]
    if found is None:
        return None
    growth = found["growth_mv_per_year"]
    text = f"{found['spread_mv'][-1]:.0f} mV between the highest and the lowest"
    text += f", {growth:+.0f} mV a year" if growth is not None else ""
    text += f"; number {found['lowest_cell']} is lowest"
    text += ", as in every test." if found["always_lowest"] else "."
    if found["caution"]:
        text += f" Look closer: {found['caution']}."
    frame = pd.DataFrame({"date": pd.to_datetime(found["dates"]), "spread": found["spread_mv"]})
    return text, frame
