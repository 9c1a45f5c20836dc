"""What a bank drives into a dead short, at its terminals and at every fuse.

An assumed resistance that is cautious for voltage drop is the wrong side of caution here. For what
a fuse has to stop the packs have the least resistance they may have (by chemistry and size, never
more than the shop states, or the maker's own short-circuit figure), are as warm as they get and
full; copper is cold, bolted joints are good ones, fuses and management boards count as nothing.
For whether a fuse opens at all it is the other way round.

    others - fuse - lead -+               A fault before the fuse of a string (x) is fed through
                          +- lead - fuse -x- string     it by all other strings and the chargers,
    others - fuse - lead -+               one behind it by its own string.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charging_together_a
from tco.bank.warm import warmest_degc
from tco.bank.wiring.circuit_parts import TIGHT_JOINT_OHM
from tco.case import Case, Pack
from tco.physics.fuse_classes import CLASS_T
from tco.physics.fuses import prospective_short_circuit_a
from tco.sentences import degc, says

UNKNOWN_INTERRUPT_A = CLASS_T.interrupt_by_voltage[0][1]
"""Class T or better where nothing is known of lithium or sodium packs: 20 kA is what ABYC E-11 asks
for large banks (as quoted), and what makers of such packs usually name (common practice)."""


@dataclass(frozen=True)
class Fault:
    """A short circuit at one place: the most that may flow, and the least there has to be. [A]"""

    most_a: float
    least_a: float


@dataclass(frozen=True)
class BankFault:
    """The bank as a source of fault currents.

    `volts`: at the end of charging. `nominal_v`: what is left to open a fuse. `string_ohm`: the
    least that one string of packs may have, `string_ohm_at_most` as its resistance is taken for
    voltage drop. `degc`: of the packs. `chargers_a`: what chargers add to a fault that they feed.
    `least_interrupt_a`: interrupt rating asked for where nothing is known. `assumed`: whether the
    resistance is, nothing being stated; `basis`: in words, what the current rests on.
    """

    strings: int
    volts: float
    nominal_v: float
    string_ohm: float
    string_ohm_at_most: float
    degc: float
    chargers_a: float
    least_interrupt_a: float
    assumed: bool
    basis: str

    @property
    def words(self) -> str:
        """What the currents rest on, and how warm the packs are, as a sentence of quantities."""
        return says(self.basis, "; packs taken at ", degc(self.degc, ".0f"))

    def at_terminals(self, *, leads_ohm: float = 0.0, out_ohm: float = 0.0) -> Fault:
        """At the bank's terminals or busbars.

        Parameters
        ----------
        leads_ohm
            Of one string's leads and links, cold. [ohm]
        out_ohm
            Of the longest way there and back that the fuse has to open for, warm. [ohm]
        """
        joints = 2.0 * TIGHT_JOINT_OHM
        most = prospective_short_circuit_a(
            self.volts, (self.string_ohm + leads_ohm) / self.strings, joints
        )
        # warm copper has a fifth more than cold: twice is on the safe side
        least = prospective_short_circuit_a(
            self.nominal_v, (self.string_ohm_at_most + 2.0 * leads_ohm) / self.strings, out_ohm
        )
        return Fault(float(most), float(least))

    def beyond(self, at_bank: Fault, *, cold_ohm: float, warm_ohm: float, out_ohm: float) -> Fault:
        """At the end of a run from the terminals, chargers feeding it too.

        Parameters
        ----------
        at_bank
            At the beginning of the run.
        cold_ohm, warm_ohm
            Of the run, there and back. [ohm]
        out_ohm
            Of the longest way on from there that the fuse has to open for, warm. [ohm]
        """
        most = self.volts / (self.volts / at_bank.most_a + cold_ohm) + self.chargers_a
        least = self.nominal_v / (self.nominal_v / at_bank.least_a + warm_ohm + out_ohm)
        return Fault(most, least)

    def at_string_fuse(
        self, *, piece_ohm: float, lead_ohm: Sequence[float], jumper_ohm: float = 0.0
    ) -> Fault:
        """At the fuse of the string that sees most, with two strings or more.

        The return of a fault counts as nothing but the strings' own negative leads: it may lie
        anywhere on the negative side.

        Parameters
        ----------
        piece_ohm
            From a string's terminal to its fuse, cold. [ohm]
        lead_ohm
            From the fuse to the busbar and from the other terminal to the other busbar, cold; empty
            where jumpers join the strings. [ohm]
        jumper_ohm
            One jumper of the positive side, cold. [ohm]
        """
        own_a = self.volts / (self.string_ohm + piece_ohm)
        string_ohm = self.string_ohm + piece_ohm + sum(lead_ohm)
        if lead_ohm:
            others_ohm = string_ohm / (self.strings - 1) + lead_ohm[0]
        else:
            others_ohm = _least_through_jumpers_ohm(self.strings, string_ohm, jumper_ohm)
        others_a = self.volts / others_ohm + self.chargers_a
        at_most = self.string_ohm_at_most + 2.0 * (piece_ohm + sum(lead_ohm))
        return Fault(max(own_a, others_a), self.nominal_v / at_most)


def bank_fault(case: Case, arrangement: Arrangement) -> BankFault:
    """The bank of an arrangement as a source of fault currents."""
    pack, warmest = arrangement.pack, warmest_degc(case)
    ohm, basis = _least_pack_ohm(pack, warmest)
    assumed = pack.short_circuit_a is None and not pack.resistance_stated
    volts = arrangement.charging_voltage_v
    return BankFault(
        strings=arrangement.parallel,
        volts=volts,
        nominal_v=arrangement.nominal_voltage_v,
        string_ohm=arrangement.series * ohm,
        string_ohm_at_most=arrangement.series * max(ohm, pack.internal_resistance_ohm),
        degc=warmest,
        chargers_a=charging_together_a(case),
        least_interrupt_a=UNKNOWN_INTERRUPT_A if assumed and pack.chemistry.hard_fault else 0.0,
        assumed=assumed,
        basis=basis,
    )


def _least_pack_ohm(pack: Pack, warmest: float) -> tuple[float, str]:
    """The least resistance of one pack, warm, and what it rests on. [ohm]

    Of a block of bare cells its unit and its links count as nothing, the joints at their best.
    """
    block = pack.block
    one = "a pack" if block is None else "a block"
    if pack.short_circuit_a is not None:
        of_one = f"{pack.short_circuit_a:,.0f} A a pack"
        if block is not None:
            side_by_side = "" if block.parallel == 1 else f", {block.parallel} side by side"
            of_one = f"{pack.short_circuit_a / block.parallel:,.0f} A a cell{side_by_side}"
        ohm = pack.charge_voltage_v / pack.short_circuit_a
        return ohm, f"the maker's short-circuit current of {of_one}"
    chemistry = pack.chemistry
    by_size = chemistry.fault_ohm_ah.value * pack.cells_in_series / pack.capacity_ah
    warm = float(chemistry.resistance_factor(warmest))
    if not pack.resistance_stated:
        return warm * by_size, says(
            f"{1000.0 * by_size:.2g} milliohm {one} at ",
            degc(25.0, "g"),
            f", assumed as the least for {chemistry.name} of {pack.capacity_ah:g} Ah",
        )
    ohm = min(by_size, pack.fault_ohm)
    as_stated = "as stated" if block is None else "by the cells as stated and joints at their best"
    which = as_stated if ohm < by_size else "the least for its size, which is less than stated"
    return warm * ohm, says(f"{1000.0 * ohm:.2g} milliohm {one} at ", degc(25.0, "g"), f", {which}")


def _least_through_jumpers_ohm(strings: int, string_ohm: float, jumper_ohm: float) -> float:
    """Least resistance through which the other strings feed a fault at one of them. [ohm]

    From both ends of the row: each string in parallel with what comes over the jumper before it.
    """
    ladder = [string_ohm]
    for _ in range(strings - 2):
        ladder.append(1.0 / (1.0 / string_ohm + 1.0 / (ladder[-1] + jumper_ohm)))
    found = []
    for before in range(strings):
        sides = [ladder[n - 1] + jumper_ohm for n in (before, strings - 1 - before) if n > 0]
        found.append(1.0 / sum(1.0 / ohm for ohm in sides))
    return min(found)
