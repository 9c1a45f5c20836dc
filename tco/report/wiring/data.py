"""Circuit, bill and branches of the distribution as plain data, for `tco.report.machine`."""

from typing import Any

from tco.bank.wiring.feeds import Feed
from tco.bank.wiring.wiring import CAUTION
from tco.physics.fuses import FuseChoice
from tco.result import Result


def wiring_data(result: Result) -> dict[str, Any] | None:
    """The circuit and its bill, whose costs add up to `wiring_cost`; None where none can be."""
    wiring = result.wiring
    if wiring is None:
        return None
    circuit = wiring.circuit
    return {
        "take_off": circuit.take_off,
        "current_a": circuit.current_a,
        "connections": wiring.connections,
        "resistance_milliohm": 1000.0 * wiring.resistance_ohm,
        "short_circuit_a": wiring.short_circuit_a,
        "short_circuit_assumed": circuit.source.assumed,
        "short_circuit_basis": circuit.source.words,
        "string_fault_a": circuit.string_fault_a,
        "heat_w": circuit.heat_w,
        "cable_bend_radius_mm": circuit.bend_radius_mm,
        "main_fuse": _fuse(wiring.main_fuse),
        "string_fuse": None if wiring.string_fuse is None else _fuse(wiring.string_fuse),
        "string_shares": circuit.sharing.share,
        "alternators_to_protect": wiring.exposed_alternators,
        "conductors": [
            {
                "from": cable.start,
                "to": cable.end,
                "size": cable.conductor.label,
                "runs": cable.choice.runs,
                "insulation_degc": cable.choice.insulation_degc,
                "length_m": cable.length_m,
                "current_a": cable.current_a,
                "drop_v": cable.drop_v,
            }
            for cable in circuit.cables
        ],
        "bill": [
            {
                "part": line.part,
                "quantity": line.quantity,
                "unit": line.unit,
                "unit_price": line.unit_price,
                "cost": line.cost,
            }
            for line in wiring.bill
        ],
        "caution": CAUTION,
    }


def branch_data(feed: Feed) -> dict[str, Any]:
    """One branch of the distribution: the least its cable and fuse have to be, or what stays."""
    choice = feed.choice
    return {
        "branch": feed.name,
        "current_a": feed.current_a,
        "length_m": feed.length_m,
        "size": None if choice is None else choice.conductor.label,
        "runs": None if choice is None else choice.runs,
        "insulation_degc": None if choice is None else choice.insulation_degc,
        "drop_v": None if choice is None else choice.voltage_drop_v,
        "cable_in_place": feed.cable_stays,
        "fuse": None if feed.fuse is None else _fuse(feed.fuse),
        "fuse_in_place": feed.fuse_stays,
        "isolators": [
            {
                "part": one.part.name,
                "side": one.part.side or "battery side",
                "rating_a": one.part.rating_a if one.decision == "keep" else None,
                "in_place": one.decision == "keep",
            }
            for one in feed.switches
        ],
        "short_circuit_a": feed.fault_a,
        "end_of_main_run": feed.of_main_run,
        "problem": feed.problem,
    }


def _fuse(fuse: FuseChoice) -> dict[str, Any]:
    return {
        "class": fuse.fuse_class.name,
        "rating_a": fuse.rating_a,
        "interrupt_a": fuse.interrupt_a,
    }
