"""How parallel strings share the current, and what an uneven share does.

The conventions, the three take-offs (`TakeOff`) and their drawing are in
`tco.bank.wiring.string_network`: strings are indexed from 0 and called "string 1" onwards in words;
positive currents discharge; all strings have one open-circuit voltage, so that the shares are
those at the start of a discharge. They even out later: `unevenness_evened_out`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import inf, isfinite
from types import MappingProxyType

from tco.bank.wiring.string_network import StringNetwork, check_positive, per_ampere

REMAKE_NEW = 0.10
REMAKE_OLD = 0.20
"""Remake a joint whose resistance is above the average of its like by more than this fraction: a
new one, an old one. IEEE Std 450 as quoted by makers of stationary batteries."""


@dataclass(frozen=True)
class Sharing:
    """How one load divides among the strings, and what it heats.

    `current_a`, `share`: one number a string, 0 for a missing one; the shares sum to 1. [A], [-]
    `hardest`: index of the string that carries most.
    `unevenness`: the hardest share times the number of working strings: 1 when all are equal.
    `bank_ohm`: resistance of strings, leads and jumpers together, seen by the load. [ohm]
    `terminal_v`: at the take-off under the load. [V]
    `heat_w`: in each element by name ("string 1", "positive lead 1", "negative jumper 1-2",
    "joint of string 1", "joint of jumper 1-2"). [W]
    `joint_heat_w`: in each string's `extra_ohm`. [W]
    """

    current_a: tuple[float, ...]
    share: tuple[float, ...]
    hardest: int
    unevenness: float
    bank_ohm: float
    terminal_v: float
    heat_w: Mapping[str, float]
    joint_heat_w: tuple[float, ...]


@dataclass(frozen=True)
class StringOut:
    """What is left when the string whose loss hurts most drops out.

    `string`: its index. `sharing`: of the others at the same load.
    `overloaded`: whether one of the others then carries more than its limit. It would drop out
    in turn, and the rest after it.
    `usable_a`: what may still be drawn without overloading one of them, a jumper or what follows.
    [A] `limited_by`: which of these that is.
    """

    string: int
    sharing: Sharing
    overloaded: bool
    usable_a: float
    limited_by: str = "string"


@dataclass(frozen=True)
class Limits:
    """What may flow for long, either way: in one string, one jumper, and all in all. [A]

    `string_by`, `bank_by`: what sets the first and the last, in words.
    """

    string_a: float
    jumper_a: float = inf
    bank_a: float = inf
    string_by: str = "string"
    bank_by: str = "main run"


@dataclass(frozen=True)
class Loosened:
    """What one loosened connection does.

    `place`: the connection, in words. `string`: index of the string it feeds (for a jumper, the
    first one behind it as counted along the bank).
    `current_a`: through it, without sign. [A] `heat_w`: in its added resistance. [W]
    `share`: of that string. `hardest`, `hardest_share`: the string that now works hardest.
    `caution`: to be shown beside the heat.
    """

    place: str
    string: int
    current_a: float
    heat_w: float
    share: float
    hardest: int
    hardest_share: float
    caution: str


def share(network: StringNetwork, load_a: float) -> Sharing:
    """Divide a load among the strings.

    Strings of one open-circuit voltage drive no current through each other, so the currents are
    those of the resistances alone and go with the load, the heat with its square.

    Parameters
    ----------
    load_a
        Drawn from the bank; negative charges it; at 0 the shares are the limit for a small load.
        [A]

    Raises
    ------
    ValueError
        When the load is not finite or more than the bank can drive through its resistance.
    """
    if not isfinite(load_a):
        raise ValueError(f"load_a must be finite, got {load_a:g}")
    unit = per_ampere(network)
    terminal_v = network.open_circuit_v - load_a * unit.bank_ohm
    if terminal_v <= 0.0:
        raise ValueError(
            f"a bank of {network.open_circuit_v:g} V behind {unit.bank_ohm:.3g} ohm cannot drive "
            f"{load_a:g} A"
        )
    square = load_a * load_a
    heat_w = {name: watts * square for name, watts in unit.heat}
    return Sharing(
        current_a=tuple([part * load_a for part in unit.share]),
        share=unit.share,
        hardest=unit.hardest,
        unevenness=unit.share[unit.hardest] * (network.strings - len(network.missing)),
        bank_ohm=unit.bank_ohm,
        terminal_v=terminal_v,
        heat_w=MappingProxyType(heat_w),
        joint_heat_w=tuple(
            [heat_w.get(f"joint of string {k}", 0.0) for k in range(1, network.strings + 1)]
        ),
    )


BEST_PACKS = 0.8
"""Resistance of the packs in the string that takes most over those of the others: packs age
unequally, and the best of them works hardest. Common practice, no source."""


def share_of_the_best_string(network: StringNetwork, packs_ohm: float) -> float:
    """Share of the string that works hardest where its packs are also the best of the bank.

    `packs_ohm`: of one string's packs, within the network's `string_ohm`; those of the hardest
    string have `BEST_PACKS` of it. [ohm]
    """
    better_ohm = (1.0 - BEST_PACKS) * packs_ohm
    if network.take_off == "busbars":  # all are alike, and share by what they conduct
        whole_ohm = network.string_ohm + 2.0 * network.lead_ohm
        best = 1.0 / (whole_ohm - better_ohm)
        return best / (best + (network.strings - 1) / whole_ohm)
    hardest = per_ampere(network).hardest
    extra = [better_ohm] * network.strings
    extra[hardest] = 0.0
    uneven = replace(network, string_ohm=network.string_ohm - better_ohm, extra_ohm=tuple(extra))
    return per_ampere(uneven).share[hardest]


def usable_current_a(network: StringNetwork, limits: Limits) -> float:
    """Load at which the hardest-worked string, the hardest jumper or the rest is at its limit. [A]

    Raises
    ------
    ValueError
        When a limit is not above zero.
    """
    return _usable(network, limits)[0]


def _usable(network: StringNetwork, limits: Limits) -> tuple[float, str]:
    for what in ("string_a", "jumper_a", "bank_a"):
        if not getattr(limits, what) > 0.0:
            raise ValueError(f"{what} must be above zero, got {getattr(limits, what):g}")
    unit = per_ampere(network)
    jumper = max(
        (watts for name, watts in unit.heat if "jumper" in name and "joint" not in name),
        default=0.0,
    )
    passing = (jumper / network.link_ohm) ** 0.5 if jumper > 0.0 else 0.0  # at 1 A: I^2 R
    return min(
        (limits.string_a / unit.share[unit.hardest], limits.string_by),
        (limits.jumper_a / passing if passing > 0.0 else inf, "jumper"),
        (limits.bank_a, limits.bank_by),
    )


def with_string_out(network: StringNetwork, load_a: float, limits: Limits) -> StringOut:
    """Let that string drop out whose loss leaves the least usable current.

    Parameters
    ----------
    load_a
        Drawn before and after. [A]
    limits
        What packs, fuses and cables may carry.

    Raises
    ------
    ValueError
        When fewer than two strings work, or as `share` and `usable_current_a`.
    """
    live = network.live
    if len(live) < 2:
        raise ValueError("with one string there are no others to carry on")
    worst, usable_a, by = network, inf, ""
    for index in live:
        left = replace(network, missing=network.missing | {index})
        left_a, left_by = _usable(left, limits)
        if not by or left_a < usable_a * (1.0 - 1e-9):  # the first of equals
            worst, usable_a, by = left, left_a, left_by
    (string,) = worst.missing - network.missing
    return StringOut(
        string=string,
        sharing=share(worst, load_a),
        overloaded=abs(load_a) > usable_a * (1.0 + 1e-9),
        usable_a=usable_a,
        limited_by=by,
    )


def loosened(
    network: StringNetwork, load_a: float, extra_ohm: float = 0.001, *, string: int | None = None
) -> Loosened:
    """Add contact resistance to one connection and see what becomes of it.

    Parameters
    ----------
    load_a
        Drawn from the bank. [A]
    extra_ohm
        Added at the connection: 1 milliohm and more where a small crimped lug is loose (from
        memory). [ohm]
    string
        Index of the string whose own connection loosens. None takes whichever connection of a
        string or jumper gets hottest. (The take-off itself carries the whole load: a network of
        one string gives its heat.)

    Raises
    ------
    ValueError
        When the resistance is not above zero, the string does not work, or as `share`.
    """
    check_positive("extra_ohm", extra_ohm)
    if string is not None and string not in network.live:
        raise ValueError(f"string index {string} is not one of the working {network.live}")
    places: list[tuple[str, int, StringNetwork]] = []
    for index in network.live if string is None else (string,):
        own = _added(network.extra_ohm, network.strings, index, extra_ohm)
        places.append((f"string {index + 1}", index, replace(network, extra_ohm=own)))
    if string is None and network.take_off != "busbars":
        for index in range(network.strings - 1):
            own = _added(network.extra_link_ohm, network.strings - 1, index, extra_ohm)
            loose = replace(network, extra_link_ohm=own)
            places.append((f"jumper {index + 1}-{index + 2}", index + 1, loose))
    best: Loosened | None = None
    for place, index, loose in places:
        sharing = share(loose, load_a)
        of_string = place.startswith("string")
        there_ohm = (loose.extra_ohm if of_string else loose.extra_link_ohm)[
            index if of_string else index - 1
        ]
        heat_w = sharing.heat_w[f"joint of {place}"] * extra_ohm / there_ohm
        if best is None or heat_w > best.heat_w * (1.0 + 1e-9):  # the first of equals
            best = Loosened(
                place=place,
                string=index,
                current_a=(heat_w / extra_ohm) ** 0.5,
                heat_w=heat_w,
                share=sharing.share[index],
                hardest=sharing.hardest,
                hardest_share=sharing.share[sharing.hardest],
                caution=_caution(place, heat_w, extra_ohm),
            )
    assert best is not None  # some string works, so there is a place
    return best


def _added(extra: tuple[float, ...], length: int, index: int, ohm: float) -> tuple[float, ...]:
    values = list(extra) if extra else [0.0] * length
    values[index] += ohm
    return tuple(values)


def _caution(place: str, heat_w: float, extra_ohm: float) -> str:
    return (
        f"{heat_w:.1f} W in one joint of {place} that has gained {1000.0 * extra_ohm:.2g} "
        "milliohm. "
        "A loose joint runs hot, loosens further, and can burn hands, melt insulation and start a "
        "fire. Stop: take off the load and every charger, isolate the string, let it cool, and "
        "have the joint cleaned and remade to the maker's torque by a competent person. Remake a "
        f"new joint more than {REMAKE_NEW:.0%} above the average of its like, an old one more than "
        f"{REMAKE_OLD:.0%} (IEEE 450 as quoted by makers). The makers' instructions and the local "
        "code come first."
    )
