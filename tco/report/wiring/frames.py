"""Tables of what is built: shopping list, commissioning, current sharing, layouts."""

from collections.abc import Callable, Sequence
from math import isfinite

import pandas as pd

from tco.bank.wiring.sharing_study import SharingStudy
from tco.case.words import money
from tco.compare import Comparison
from tco.forms.entry import Units
from tco.report.frames import words
from tco.report.shown_units import mass
from tco.report.wiring.commissioning import Step, together
from tco.report.wiring.one_and_many import LayoutRow
from tco.report.wiring.shopping import ShoppingLine
from tco.result import Result

EQUAL_WITHIN = 1.001
"""Shares this near to equal are told as equal: a thousandth is far below the scatter of packs."""


def built(comparison: Comparison, result: Result) -> str:
    """Where an arrangement stands and what wiring it takes, in one sentence."""
    case, arrangement, wiring = comparison.case, result.arrangement, result.wiring
    fit = result.screening.fit
    if fit is None:
        where = "stands nobody knows where, for its dimensions are not stated"
    elif fit.fits:
        names = list(dict.fromkeys(placed.compartment for placed in fit.layout))
        where = f"fits the {' and the '.join(names)}"
    else:
        where = "does not fit"
    head = f"{arrangement.label} {where} and weighs {mass(arrangement.mass_kg, case.units)}"
    if wiring is None:
        return f"{head}; no cable or fuse carries what it would have to."
    text = (
        f"{head}; wiring takes {wiring.connections} connections, "
        f"{money(wiring.cost, case.prices.currency)} and a "
        f"{wiring.main_fuse.rating_a:g} A main fuse of {wiring.main_fuse.fuse_class.name}"
    )
    anew = [decision.part.name for decision in wiring.parts if decision.decision == "replace"]
    return f"{text}; replaced: {', '.join(anew)}." if anew else f"{text}."


def shopping(lines: tuple[ShoppingLine, ...], currency: str) -> pd.DataFrame:
    """The shopping list for people."""
    return pd.DataFrame(
        [
            {
                "Part": line.part,
                "Quantity": f"{line.quantity:,.1f}".removesuffix(".0") + f" {line.unit}",
                f"Each [{currency}]": line.unit_price,
                f"Cost [{currency}]": line.cost,
                "Link": line.link,
                "Note": line.note,
            }
            for line in lines
        ]
    )


def commissioning_stage(steps: Sequence[Step], stage: str, units: Units) -> pd.DataFrame:
    """The steps of one stage; columns in which nothing stands are left out."""
    rows = [
        {
            "No.": str(number),
            "At": step.where,
            "What to do": words(step.what, units),
            "Likely set to now": words(step.before, units),
            "To": words(step.after, units),
        }
        for number, step in enumerate(together(steps), start=1)
        if step.stage == stage
    ]
    frame = pd.DataFrame(rows)
    return frame.loc[:, frame.astype(bool).any()]


def ways(study: SharingStudy, *, built_as: str | None) -> pd.DataFrame:
    """Ways to join the strings, compared."""
    return pd.DataFrame(
        [
            {
                "": "as planned" if way.take_off == built_as else "",
                "Strings joined by": way.take_off,
                "Hardest string [A]": way.sharing.current_a[way.sharing.hardest],
                "over equal [%]": 100.0 * (way.sharing.unevenness - 1.0),
                "Bank may give [A]": way.usable_a,
                "String fuse [A]": way.string_fuse_a,
                "Resistance [mΩ]": 1000.0 * way.ohm,
                "Connections": way.connections,
            }
            for way in study.ways
        ]
    ).round(2)


def string_currents(study: SharingStudy) -> pd.DataFrame:
    """Current of every string for each way to join them, tidy."""
    return pd.DataFrame(
        [
            {
                "way": way.take_off,
                "string": f"string {number}",
                "current": current,
                "equal": sum(way.sharing.current_a) / len(way.sharing.current_a),
            }
            for way in study.ways
            for number, current in enumerate(way.sharing.current_a, start=1)
        ],
        columns=["way", "string", "current", "equal"],
    )


def string_lost(study: SharingStudy, result: Result) -> str:
    """What happens when the string that hurts most drops out; "" with one string."""
    out, wiring = study.string_out, result.wiring
    if out is None or wiring is None:
        return ""
    left = max(out.sharing.current_a)
    limit = result.arrangement.pack.continuous_discharge_a
    text = (
        f"If string {out.string + 1} drops out at the full {wiring.circuit.current_a:,.0f} A, the "
        f"hardest of the others carries {left:,.0f} A"
    )
    text += f" of the {limit:,.0f} A a pack may give" if isfinite(limit) else ""
    if out.overloaded:
        text += ": it drops out in turn, and the bank goes dark"
    return (
        f"{text}. Up to {out.usable_a:,.0f} A may still be drawn; more is too much for "
        f"{_LIMITS[out.limited_by]}."
    )


_LIMITS = {
    "pack": "the hardest string's packs",
    "string lead": "its leads",
    "string link": "its links",
    "string fuse": "its fuse",
    "jumper": "a jumper",
    "main fuse": "the main fuse",
    "main run": "the main run",
}
"""What limits a current, by the keys of `Circuit.limits`."""


def larger_fuses(study: SharingStudy, *, built_as: str | None) -> str:
    """Where the strings' fuses are larger than another way to join them asks for; "" elsewhere."""
    now = next((way for way in study.ways if way.take_off == built_as), None)
    if now is None:
        return ""
    smaller = [way for way in study.ways if way.string_fuse_a < now.string_fuse_a]
    if not smaller:
        return ""
    others = " and ".join(f"{way.take_off} {way.string_fuse_a:g} A" for way in smaller)
    return (
        f"Joined by {now.take_off} each string needs a fuse of {now.string_fuse_a:g} A, for the "
        f"hardest of them carries {max(now.sharing.current_a):,.0f} A; smaller ones do with "
        f"{others}."
    )


def evened(study: SharingStudy) -> str:
    """How the shares even out over a discharge; "" with one string."""
    over = study.over_discharge
    if over is None:
        return ""
    if over.start_unevenness < EQUAL_WITHIN:
        return "Joined as planned, the strings share equally."
    start, later = over.start_unevenness - 1.0, over.unevenness - 1.0
    return (
        f"The hardest string starts {start:.1%} above an equal share; averaged from full to half "
        f"it is {later:.1%}, and that is what its cycle life is reckoned with."
    )


MOST_BESIDE = 4
LAYOUTS_SAY = (
    "The best arrangement of each number of packs. Fewer packs: fewer joints, less heat, less to "
    "check. Several in parallel: lighter to lift, a cheaper spare, and part of the power stays "
    "when one dies. A joint that has worked loose burns: check torque and heat every year."
)


def beside(comparison: Comparison, result: Result) -> tuple[Result, ...]:
    """The arrangement and the best passing ones of other numbers of packs, by number of packs."""
    chosen = {result.arrangement.packs: result}
    for other in comparison.results:
        if other.feasible and len(chosen) < MOST_BESIDE:
            chosen.setdefault(other.arrangement.packs, other)
    return tuple(chosen[packs] for packs in sorted(chosen))


def layouts(rows: Sequence[LayoutRow], comparison: Comparison) -> pd.DataFrame:
    """Layouts side by side: one line for each quantity, one column for each layout."""
    case = comparison.case
    sign, units = case.prices.currency, case.units

    def line(what: str, told: Callable[[LayoutRow], str]) -> dict[str, str]:
        return {"": what, **{row.label: told(row) for row in rows}}

    def number(value: float | None, unit: str, digits: int = 0) -> str:
        return "–" if value is None else f"{value:,.{digits}f} {unit}".strip()

    def string_out(row: LayoutRow) -> str:
        if row.usable_a_string_out is None:
            return "–"
        enough = "enough" if row.carries_on_string_out else "too little for all loads at once"
        return f"{row.usable_a_string_out:,.0f} A, {enough}" if row.usable_a_string_out else "none"

    return pd.DataFrame(
        [
            line("Wiring, parts and labour", lambda r: (
                "–" if r.wiring_cost is None else money(r.wiring_cost, sign)
            )),
            line("Labour in it", lambda r: number(r.labour_hours, "h", 1)),
            line("Connections", lambda r: number(r.connections, "")),
            line("Yearly check of them", lambda r: number(r.check_minutes_per_year, "min")),
            line("Resistance, cables and joints", lambda r: number(r.resistance_milliohm, "mΩ", 1)),
            line("Heat in them at full current", lambda r: number(r.heat_w, "W")),
            line("Heat in one joint come loose", lambda r: number(r.loose_joint_w, "W", 1)),
            line("Heaviest lift", lambda r: mass(r.heaviest_lift_kg, units)),
            line("Failures expected", lambda r: f"{r.failures_per_year:.3f} a year"),
            line("Energy left with one pack dead", lambda r: f"{r.share_left:.0%}"),
            line("Current with one string out", string_out),
            line("Dark days for a failure", lambda r: number(r.dark_days_per_failure, "days", 1)),
            line("One pack as a spare", lambda r: money(r.spare_price, sign)),
        ]
    )  # fmt: skip
