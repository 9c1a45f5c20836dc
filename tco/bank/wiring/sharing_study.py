"""What parallel strings cost and give: sharing by take-off, a string lost, a joint come loose.

One pack has none of the extra joints; four packs go on at part of their power when one drops out.
Both sides of that are here as numbers.
"""

from dataclasses import dataclass, replace
from math import inf
from typing import get_args

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.circuit import Circuit, circuit
from tco.bank.wiring.current_evening_out import EvenedOut, unevenness_evened_out
from tco.bank.wiring.sharing import (
    Loosened,
    Sharing,
    StringOut,
    loosened,
    usable_current_a,
    with_string_out,
)
from tco.bank.wiring.sizing import CannotWire
from tco.case import Case
from tco.case.system import TakeOff

TAKE_OFFS: tuple[TakeOff, ...] = get_args(TakeOff)

LOOSE_OHM = 0.001
"""A loose lug: 1 milliohm and more (from memory; tight ones have 20 to 100 micro-ohm)."""


HALF = 0.5
"""Shares are averaged over a discharge to half: at the very end all strings are empty alike."""


@dataclass(frozen=True)
class TakeOffRow:
    """One way to join the strings: its sharing, its connections, its fuse.

    `usable_a`: what strings and jumpers allow, the main run left out. [A]
    `string_fuse_a`: rating that each string's fuse has with new parts. [A]
    """

    take_off: TakeOff
    sharing: Sharing
    usable_a: float
    connections: int
    ohm: float
    string_fuse_a: float


@dataclass(frozen=True)
class SharingStudy:
    """Current sharing of a parallel bank at its full current.

    `ways` compares the ways to join the strings (those that can be wired); `over_discharge` is
    how the shares even out from full to half; `string_out` the loss of the string that
    hurts most; `loose` one joint at `LOOSE_OHM`. With one string the last three are None but for
    `loose`.
    """

    ways: tuple[TakeOffRow, ...]
    over_discharge: EvenedOut | None
    string_out: StringOut | None
    loose: Loosened | None


def study(case: Case, arrangement: Arrangement, built: Circuit) -> SharingStudy:
    """Study the sharing of an arrangement as wired, and as it would be wired otherwise."""
    loose = loosened(built.network, built.current_a, LOOSE_OHM)
    if arrangement.parallel == 1:
        return SharingStudy(ways=(), over_discharge=None, string_out=None, loose=loose)
    pack_a = arrangement.pack.continuous_discharge_a
    ways = []
    placed = {device.kind for device in built.devices}
    for take_off in TAKE_OFFS:
        system = case.system.model_copy(update={"take_off": take_off})
        other = case.model_copy(update={"system": system})
        try:
            way = (
                built
                if take_off == built.take_off
                else circuit(
                    other,
                    arrangement,
                    current_a=built.current_a,
                    surge_a=built.surge_a,
                    with_shunt="shunt" in placed,
                    with_contactor="contactor" in placed,
                    reused=replace(built.reused, string_fuse=None),
                )
            )
        except CannotWire:
            continue  # a way that cannot be wired is no choice; the built one is checked elsewhere
        ways.append(
            TakeOffRow(
                take_off,
                way.sharing,
                usable_current_a(way.network, replace(way.limits(pack_a), bank_a=inf)),
                way.connections,
                way.ohm,
                0.0 if way.string_fuse is None else way.string_fuse.rating_a,
            )
        )
    pack = arrangement.pack
    curve = np.asarray(pack.chemistry.open_circuit_v)
    cells = arrangement.series * pack.cells_in_series
    return SharingStudy(
        ways=tuple(ways),
        over_discharge=unevenness_evened_out(
            built.network,
            built.current_a,
            soc=np.linspace(0.0, 1.0, curve.size),
            volts=curve * cells,
            capacity_ah=pack.capacity_ah,
            depth=HALF,
        ),
        string_out=with_string_out(built.network, built.current_a, built.limits(pack_a)),
        loose=loose,
    )
