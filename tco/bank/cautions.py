"""What can hurt somebody who builds a bank into its system, beside what the checks say.

Each defers to maker, local code and licensed practice; they are told together wherever the wiring
is (screen, terminal, JSON, list to print).
"""

import re
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.case import Case

TOUCH_V = 50.0
"""Direct voltage from which bare live parts count as a shock hazard. From memory: NFPA 70E treats
50 V and more so; IEC 61140 draws the line of extra-low voltage at 120 V dry, and half of it or less
where it is wet."""

COMMON_TORQUE_NM = {"M5": (3, 5), "M6": (4, 7), "M8": (8, 14), "M10": (15, 25)}
"""What makers of packs, bars and fuse holders commonly state by stud. Common practice, no source:
good for noticing a slip of a unit, not for setting a wrench."""


@dataclass(frozen=True)
class Caution:
    """One hazard by its key, and what to do about it."""

    key: str
    sentence: str


def cautions(case: Case, arrangement: Arrangement) -> tuple[Caution, ...]:
    """The cautions of one arrangement in its case, the gravest first."""
    found = [_metal(arrangement)]
    if arrangement.charging_voltage_v >= TOUCH_V:
        found.append(_shock(arrangement))
    if arrangement.pack.chemistry.gassing != "none":
        found.append(_acid(arrangement))
    if case.system.inverter is not None:
        found.append(_inverter())
    found.append(_torque(case, arrangement))
    return tuple(found)


def _metal(arrangement: Arrangement) -> Caution:
    joined = "" if arrangement.packs == 1 else " while packs are joined"
    if arrangement.pack.block is not None:
        joined = " while cells are joined, which nothing switches off"
    return Caution(
        "short_circuit",
        "No rings, watches or loose tools: a spanner across the terminals becomes white-hot. "
        f"Insulated tools, terminals covered{joined}, goggles on, fuses and disconnects out until "
        "the end.",
    )


def _shock(arrangement: Arrangement) -> Caution:
    return Caution(
        "shock_and_arc",
        f"Up to {arrangement.charging_voltage_v:.0f} V: it can shock, in the wet or through a ring "
        "gravely, and a direct-current arc at this voltage does not go out by itself. Work on it "
        "dead and in parts, cover live ends, never open a plug or fuse under load, use switches, "
        "breakers and fuses rated for this direct voltage; local codes may ask for a licensed "
        "person.",
    )


def _acid(arrangement: Arrangement) -> Caution:
    free = arrangement.pack.chemistry.gassing == "vented"
    acid = (
        "They hold free sulphuric acid: upright always, a tray that acid does not eat, water to "
        "rinse eyes and skin for a quarter of an hour, then a doctor."
        if free
        else "A cracked case leaks sulphuric acid: rinse eyes and skin with water, then a doctor."
    )
    return Caution(
        "acid_and_sparks",
        "Lead-acid cells spray acid and gas, which a spark lights: goggles, gloves and apron; let "
        "the space air before any connection is made or broken; switch chargers and loads off "
        f"first, last connection away from the cells. {acid} Baking soda binds what is spilt on "
        "the floor, not on skin.",
    )


def _inverter() -> Caution:
    return Caution(
        "inverter",
        "The capacitors of an inverter draw an arc that eats studs and can blow fuses or trip the "
        "packs' management: charge them first through a resistor, as its maker says, and let them "
        "drain, as long as it says, before touching its terminals. Its outlet carries mains "
        "voltage, which kills: earthing, residual-current device and whatever joins it to shore "
        "power are for somebody licensed, by the local code.",
    )


def _torque(case: Case, arrangement: Arrangement) -> Caution:
    terminal = next(
        (c.terminal for c in case.candidates if c.name == arrangement.pack.name and c.terminal), ""
    )
    whose = "packs'" if arrangement.pack.block is None else "cells'"
    # a range only where one size is named, as in "M8, female" or "M8x16"
    named = {size for size in re.findall(r"M\d+", terminal.upper()) if size in COMMON_TORQUE_NM}
    stud = named.pop() if len(named) == 1 else None
    if stud is None:
        of_packs = f"the {whose} terminals as their maker states"
        if terminal:
            of_packs += f" ({terminal})"
    else:
        low, high = COMMON_TORQUE_NM[stud]
        of_packs = (
            f"the {whose} {stud} terminals as their maker states (makers commonly {low} to "
            f"{high} Nm)"
        )
    return Caution(
        "torque",
        f"Tighten every stud with a torque wrench to the figure of its own maker: {of_packs}, fuse "
        "holders, bars, switch, shunt and inverter each by theirs. Too loose burns, too tight "
        "strips the thread or breaks the seal; lug on bar, then washer, nothing between copper and "
        "copper; mark each, and check again after the first week and every year.",
    )
