"""Parallel strings as a network of resistances: conventions, drawing, and the solved network.

Strings are numbered along the bank; indices count from 0, words ("string 1") from 1. The three
usual ways to connect them, S a string (its packs, series links and joints), drawn for three::

    busbars                  diagonal                   one end

    + ===o=====o=====o==     + --o--k--o--k--o          + --o--k--o--k--o
         l     l     l           |     |     |              |     |     |
         S     S     S           S     S     S              S     S     S
         l     l     l           |     |     |              |     |     |
    - ===o=====o=====o==         o--k--o--k--o-- -      - --o--k--o--k--o

Each string has two equal leads `l` (`lead_ohm`) to a pair of busbars whose own resistance is
neglected; or each neighbour is reached by one jumper `k` (`link_ohm`) on the positive side and one
on the negative. With jumpers the load's leads sit on string 1 at both sides ("one end") or on
string 1 and on the last ("diagonal"), and there are no `l`. A string that dropped out (`missing`:
its management board opened, its fuse blew) carries nothing, but its posts still pass on what the
jumpers bring. Leads from the take-off to the load carry the whole current and are not part of this.

What to expect (common practice, no source): strings on busbars with equal leads share equally;
the diagonal is equal for two strings and works the end strings of longer banks harder, the middle
ones less; from one end the nearest string works hardest, the more so the more strings there are
and the higher the jumpers' resistance is against the strings'.

Positive currents discharge. The strings are taken at one open-circuit voltage, so the shares are
those at the *start* of a discharge. They even out later: the string that gives more falls further
along its open-circuit curve and then gives less. On the flat part of a lithium iron phosphate
curve little drives this, on the steeper slope of a lead-acid curve it goes faster;
`tco.bank.wiring.current_evening_out` follows it. Whatever difference is left at the end flows
between the strings at low current afterwards, driven by the same slope only.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import isfinite
from typing import get_args

from tco.case.system import TakeOff
from tco.physics.arrays import FloatArray
from tco.physics.network import Resistor, Sink, Source, solve, source_response


@dataclass(frozen=True)
class StringNetwork:
    """Equal strings in parallel, and how they are connected. See the module's drawing.

    `strings`: how many, dropped ones included.
    `string_ohm`: packs, series links and joints of one string. [ohm]
    `lead_ohm`: one lead from a string to a busbar, with its joints; busbars only. [ohm]
    `link_ohm`: one jumper between neighbouring strings, with its joints; not on busbars. [ohm]
    `open_circuit_v`: of every string. [V]
    `extra_ohm`: resistance in series with each string beyond `string_ohm`, from a loosened
    connection or an aged string; empty for none, else one number a string. [ohm]
    `extra_link_ohm`: the same for each jumper of the positive side. [ohm]
    `missing`: indices of strings that dropped out.

    Raises ValueError where a number is out of range or a length does not fit.
    """

    strings: int
    string_ohm: float
    lead_ohm: float
    link_ohm: float
    open_circuit_v: float
    take_off: TakeOff
    extra_ohm: tuple[float, ...] = ()
    extra_link_ohm: tuple[float, ...] = ()
    missing: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        if self.take_off not in get_args(TakeOff):
            raise ValueError(f"take_off must be one of {get_args(TakeOff)}, got {self.take_off!r}")
        if self.strings < 1:
            raise ValueError(f"a bank has at least one string, got {self.strings}")
        busbars = self.take_off == "busbars"
        for what, value, used in (
            ("string_ohm", self.string_ohm, True),
            ("open_circuit_v", self.open_circuit_v, True),
            ("lead_ohm", self.lead_ohm, busbars),
            ("link_ohm", self.link_ohm, not busbars and self.strings > 1),
        ):
            if not (isfinite(value) and (value > 0.0 or (value == 0.0 and not used))):
                raise ValueError(f"{what} must be finite and above zero, got {value:g}")
        links = 0 if busbars else self.strings - 1
        for what, extra, length in (
            ("extra_ohm", self.extra_ohm, self.strings),
            ("extra_link_ohm", self.extra_link_ohm, links),
        ):
            if extra and len(extra) != length:
                raise ValueError(f"{what} has {len(extra)} numbers where {length} belong")
            if not all(isfinite(ohm) and ohm >= 0.0 for ohm in extra):
                raise ValueError(f"{what} must be finite and not negative")
        if not all(0 <= index < self.strings for index in self.missing):
            raise ValueError(f"missing strings must be numbered 0 to {self.strings - 1}")
        if len(self.missing) == self.strings:
            raise ValueError("every string is missing")

    @property
    def live(self) -> tuple[int, ...]:
        """Indices of the strings that work."""
        return tuple(k for k in range(self.strings) if k not in self.missing)


@dataclass(frozen=True)
class PerAmpere:
    """Shares, hardest string, resistance [ohm] and heat [W] by element, all at a load of 1 A."""

    share: tuple[float, ...]
    hardest: int
    bank_ohm: float
    heat: tuple[tuple[str, float], ...]


@lru_cache(maxsize=4096)
def per_ampere(network: StringNetwork) -> PerAmpere:
    """Shares, resistance and heat at 1 A, from the resistances alone."""
    resistors, sources, positive, negative = _elements(network)
    solution = solve(
        resistors, sources, [Sink("load", positive, negative, 1.0)], reference=negative
    )
    current = solution.current_a
    shares = tuple([current.get(f"string {k}", 0.0) for k in range(1, network.strings + 1)])
    most = max(shares)
    return PerAmpere(
        share=shares,
        hardest=next(k for k, part in enumerate(shares) if part >= most * (1.0 - 1e-9)),
        bank_ohm=-solution.volts[positive],
        heat=tuple(solution.heat_w.items()),
    )


@lru_cache(maxsize=4096)
def per_volt(network: StringNetwork) -> FloatArray:
    """Current of each working string per volt more of each. [A/V]"""
    resistors, sources, _, negative = _elements(network)
    response = source_response(resistors, sources, reference=negative)
    response.setflags(write=False)
    return response


def check_positive(what: str, value: float) -> None:
    """Raise ValueError unless a number is finite and above zero."""
    if not (isfinite(value) and value > 0.0):
        raise ValueError(f"{what} must be finite and above zero, got {value:g}")


def _elements(network: StringNetwork) -> tuple[list[Resistor], list[Source], str, str]:
    """Resistors, sources (of 0 V), and the two nodes of the take-off."""
    resistors: list[Resistor] = []
    sources: list[Source] = []
    count = network.strings
    for k in range(1, count + 1):
        extra = network.extra_ohm[k - 1] if network.extra_ohm else 0.0
        if k - 1 in network.missing:
            continue
        top = f"p{k}" if extra == 0.0 else f"q{k}"
        sources.append(Source(f"string {k}", top, f"n{k}", 0.0, network.string_ohm))
        if extra > 0.0:
            resistors.append(Resistor(f"joint of string {k}", top, f"p{k}", extra))
        if network.take_off == "busbars":
            resistors.append(Resistor(f"positive lead {k}", f"p{k}", "+", network.lead_ohm))
            resistors.append(Resistor(f"negative lead {k}", "-", f"n{k}", network.lead_ohm))
    if network.take_off == "busbars":
        return resistors, sources, "+", "-"
    for k in range(1, count):
        extra = network.extra_link_ohm[k - 1] if network.extra_link_ohm else 0.0
        start = f"p{k}"
        if extra > 0.0:
            resistors.append(Resistor(f"joint of jumper {k}-{k + 1}", f"j{k}", start, extra))
            start = f"j{k}"
        pair = f"{k}-{k + 1}"
        resistors.append(Resistor(f"positive jumper {pair}", f"p{k + 1}", start, network.link_ohm))
        resistors.append(
            Resistor(f"negative jumper {pair}", f"n{k}", f"n{k + 1}", network.link_ohm)
        )
    return resistors, sources, "p1", f"n{count}" if network.take_off == "diagonal" else "n1"
