"""Putting the new bank into service: what to do in which order, charger by charger, part by part.

The order keeps whoever does the work from a live conductor and the parts from a voltage they are
not set for: dead first, then built, then set, evened out, measured, joined, and only then charged
and loaded. Order and figures are common practice, no source, where nothing else is said; the
makers' instructions, local code and, where it asks for one, a licensed electrician go first.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from html import escape

from tco.bank.bank import Bank
from tco.bank.charging import (
    Source,
    charger_current_a,
    charger_suits,
    chargers_together,
    takes_a,
)
from tco.bank.wiring.external_management import needs_external
from tco.bank.wiring.wiring import Wiring
from tco.case import Case
from tco.case.use import EngineCharger, Generator, Shore, Solar
from tco.physics.chemistry import CHEMISTRIES
from tco.report.wiring.cell_steps import (
    EXTERNAL,
    cell_building,
    cell_charging,
    cell_joining,
    cell_measuring,
)
from tco.sentences import kg, says, told

STAGES = {
    "dead": "Make it dead",
    "built": "Build",
    "set": "Set the chargers, before any of them charges",
    "even": "Even the packs out",
    "measured": "Measure before anything is closed",
    "joined": "First power",
    "charged": "First charge",
    "loaded": "First load",
    "kept": "Keep it so",
}
"""The stages in their order, and what people read."""

CAUTION = (
    "A battery cannot be switched off: its terminals stay live whatever is open. Insulated tools, "
    "eye protection, no rings or chains. If a step does not come out as said, stop and find out "
    "why. Follow the makers' instructions and your local code; have a licensed electrician do or "
    "check what it asks for."
)

EVEN_WITHIN_V = 0.05
"""Voltages of resting packs of 12 V are to agree so far before they are joined; others in
proportion. Common practice, no source; makers state 0.05 to 0.1 V."""

WARM_K = 20.0
"""A joint so much warmer than its surroundings under full load is looked at. Our choice, on the
cautious side of what thermographers call a fault."""

TAIL_SHARE = 0.04
"""Charge current over capacity below which a monitor may call the bank full. Common practice, no
source."""


@dataclass(frozen=True)
class Step:
    """One thing to do or to measure. `stage` is a key of STAGES; `where` the charger or part it is
    at, "" where it is the whole; `before` and `after` what a setting was likely set to for the old
    bank ("" where that is not known) and what it is to be."""

    stage: str
    what: str
    where: str = ""
    before: str = ""
    after: str = ""


def commissioning(case: Case, bank: Bank) -> tuple[Step, ...]:
    """All steps for a bank, in order; none where it cannot be wired."""
    wiring = bank.wiring
    if wiring is None:
        return ()
    return (
        *_dead(case),
        *_built(case, bank, wiring),
        *_set(case, wiring),
        *_even(bank, wiring),
        *_measured(case, bank),
        *_joined(case, bank, wiring),
        *_charged(case, bank),
        *_loaded(case, bank, wiring),
        *_kept(case, bank),
    )


def _dead(case: Case) -> Iterator[Step]:
    yield Step("dead", "Photograph every connection, and write down every charger's settings.")
    if case.system.inverter is not None:
        yield Step(
            "dead",
            "Switch it off, open its AC side, and wait as long as its maker says for its "
            "capacitors to discharge.",
            "inverter",
        )
    for charger in case.sources.chargers():
        yield Step("dead", _OFF[type(charger)], charger.name)
    yield Step("dead", "Switch off every load, then the main switch.")
    yield Step(
        "dead",
        "Open the main fuse, take the negative lead off first and the positive after it, and cap "
        "both.",
        "the old bank" if case.system.old_bank is not None else "",
    )
    yield Step("dead", "Measure that busbars and fuse block are dead before you touch them.")


_OFF: dict[type[Source], str] = {
    Solar: "Open the isolator between panels and controller, or cover the panels: take the panels "
    "off before the battery, or the controller may be destroyed.",
    EngineCharger: "Stop the engine, take the key out, and open its fuse on the starter's side.",
    Shore: "Pull the hook-up, not only the switch.",
    Generator: "Stop it, and bar it from starting by itself.",
}


def _built(case: Case, bank: Bank, wiring: Wiring) -> Iterator[Step]:
    pack = bank.arrangement.pack
    yield from _steps("built", cell_building(bank.arrangement))
    lift = says(
        f"Set every {_one(bank)} (", kg(pack.mass_kg), ") in its place, strap it down so that it "
        "cannot shift or turn over, and leave its vents and the air around it free.",
    )  # fmt: skip
    yield Step("built", lift)
    yield Step(
        "built",
        "Mount bars, fuse holders, switch and shunt with every fuse out and the switch open; cover "
        "the terminals you are not working at.",
    )
    yield Step(
        "built",
        "Make every cable, pull at each crimp, and bolt lug on metal with nothing between; tighten "
        "to the makers' torque and mark the bolt.",
    )
    if wiring.circuit.take_off == "busbars" and bank.arrangement.parallel > 1:
        yield Step("built", "Check that all string leads of one kind are equally long.")
    if needs_external(bank.arrangement):
        yield Step(
            "built",
            "Connect its sensing leads cell by cell from the most negative, and leave its "
            "contactor open.",
            EXTERNAL,
        )


def _set(case: Case, wiring: Wiring) -> Iterator[Step]:
    old, stay = _old_settings(case), {charger.name for charger in case.sources.chargers()}
    for setting in wiring.settings:
        before = old.get(setting.setting, "") if setting.charger in stay else ""
        yield Step(
            "set",
            says(setting.setting, ": ", setting.reason),
            setting.charger,
            "" if before == setting.value else before,
            setting.value,
        )
    for charger in case.sources.chargers():
        if isinstance(charger, EngineCharger) and charger.name in wiring.exposed_alternators:
            yield Step(
                "set",
                "Fit its protection before it charges this bank; watch its temperature, since a "
                "bank that takes all it gives runs it hot.",
                charger.name,
            )


def _old_settings(case: Case) -> dict[str, str]:
    """What the chargers were likely set to for the old bank, by the name of the setting."""
    if case.system.old_bank is None:
        return {}
    chemistry = CHEMISTRIES[case.system.old_bank.chemistry]
    cells = round(case.system.nominal_voltage_v / chemistry.cell_voltage_v)
    return {
        "absorption voltage": f"{cells * chemistry.absorption_v:.1f} V",
        "float voltage": f"{cells * chemistry.float_v:.1f} V",
        "temperature compensation": "on" if chemistry.temperature_compensation else "off",
    }


def _even(bank: Bank, wiring: Wiring) -> Iterator[Step]:
    arrangement = bank.arrangement
    if arrangement.packs == 1:
        return
    pack = arrangement.pack
    within = EVEN_WITHIN_V * pack.nominal_voltage_v / 12.0
    one = _one(bank)
    why = f"{one}s in parallel" if arrangement.parallel > 1 else f"{one}s in series"
    yield Step(
        "even",
        f"Charge each of the {arrangement.packs} {one}s full by itself, at the voltage of one "
        f"{one} ({pack.charge_voltage_v:.1f} V); {why} that begin unequal "
        "stay so.",
    )
    yield Step(
        "even",
        f"Let them rest an hour or more and measure each: within {within:.2f} V of one another, "
        "or charge the lowest again.",
    )
    if arrangement.parallel > 1:
        ohm = 2.0 * wiring.circuit.source.string_ohm
        amps = arrangement.series * within / ohm
        yield Step(
            "even",
            f"Why: strings {arrangement.series * within:.2f} V apart push up to {amps:.0f} A into "
            f"one another when they are joined, with the least that two strings may have, "
            f"{1000.0 * ohm:.1f} milliohm, between them.",
        )


def _measured(case: Case, bank: Bank) -> Iterator[Step]:
    arrangement = bank.arrangement
    volts = arrangement.nominal_voltage_v
    each, why = "The bank", "turned round it destroys the inverter and the chargers"
    if arrangement.parallel > 1:
        each, why = "Each string", "one turned round shorts the others the moment it is joined"
    yield Step("measured", f"{each} shows some {volts:.0f} V, plus at the plus side: {why}.")
    yield Step(
        "measured",
        "No voltage and no continuity between plus and minus of the distribution, nor from plus to "
        "the hull, chassis or earth, with all loads off.",
    )
    yield from _steps("measured", cell_measuring(arrangement, within_v=EVEN_WITHIN_V))
    yield Step("measured", "Every bolt tight and marked, every cover within reach.")


def _joined(case: Case, bank: Bank, wiring: Wiring) -> Iterator[Step]:
    if needs_external(bank.arrangement):
        yield Step(
            "joined",
            "Switch it on: it has to show every cell, plausible and alike, before its contactor "
            "may close; try that it opens it on its test or a disconnected lead.",
            EXTERNAL,
        )
    yield from _steps("joined", cell_joining(bank.arrangement))
    if wiring.circuit.string_fuse is not None:
        fuse = wiring.circuit.string_fuse
        yield Step(
            "joined",
            f"Put in the string fuses ({fuse.rating_a:g} A {fuse.fuse_class.name}) one after "
            "another, and measure across each holder first: next to nothing between strings.",
        )
    fuse = wiring.main_fuse
    yield Step(
        "joined",
        f"Put in the main fuse ({fuse.rating_a:g} A {fuse.fuse_class.name}), the switch open.",
    )
    if case.system.inverter is not None:
        yield Step(
            "joined",
            "Charge its capacitors through a resistor or a precharge switch before the main switch "
            "closes: else the contacts burn and a management board may trip.",
            "inverter",
        )
    yield Step(
        "joined", "Close the main switch; nothing gets warm, nothing smells. Then the loads."
    )


def _charged(case: Case, bank: Bank) -> Iterator[Step]:
    arrangement = bank.arrangement
    chemistry = arrangement.pack.chemistry
    most_a = takes_a(arrangement, bank.unevenness)
    for charger in case.sources.chargers():
        name = (
            charger.name if charger_suits(charger, arrangement) else f"what replaces {charger.name}"
        )
        first = "Battery first, panels after it. " if isinstance(charger, Solar) else ""
        amps = min(charger_current_a(case, charger), most_a)
        yield Step(
            "charged",
            f"{first}Alone: it gives up to {amps:.0f} A and holds "
            f"{arrangement.charging_voltage_v:.1f} V measured at the bank's terminals, not at its "
            "own.",
            name,
        )
    if len(chargers_together(case)) > 1:
        yield Step("charged", f"Together: no more than the {most_a:.0f} A that the bank takes.")
    yield from _steps("charged", cell_charging(arrangement))
    shunt = bank.wiring is not None and any(
        device.kind == "shunt" for device in bank.wiring.circuit.devices
    )
    if not (arrangement.pack.charge_display or shunt):
        return
    full = arrangement.charging_voltage_v
    capacity = arrangement.capacity_ah
    yield Step(
        "charged",
        f"When it is full for the first time, set the charge display to 100 %, with: "
        f"{capacity:g} Ah; full at {full - 0.1 * arrangement.nominal_voltage_v / 12.0:.1f} V and "
        f"below {TAIL_SHARE * capacity:.0f} A; Peukert exponent "
        f"{chemistry.peukert_exponent.value:.2f}; charge efficiency "
        f"{100.0 * chemistry.coulombic_efficiency.value:.3g} %.",
        "charge display",
    )


def _one(bank: Bank) -> str:
    """What one of the things in a string is called."""
    return "pack" if bank.arrangement.pack.block is None else "block"


def _steps(stage: str, told_of: Iterable[tuple[str, str]]) -> Iterator[Step]:
    """Steps of one stage, from where each is done and what it is."""
    for where, what in told_of:
        yield Step(stage, what, where)


def _loaded(case: Case, bank: Bank, wiring: Wiring) -> Iterator[Step]:
    circuit, arrangement = wiring.circuit, bank.arrangement
    if case.system.inverter is not None:
        yield Step(
            "loaded",
            "Set where it stops, and see that it stops there.",
            "inverter",
            after=f"{case.system.cutoff_voltage_v:.1f} V",
        )
    yield Step(
        "loaded",
        f"Run the largest loads for ten minutes. At {circuit.current_a:.0f} A the main run with "
        f"its fuse loses about {circuit.current_a * circuit.main_ohm:.2f} V, out and back, and its "
        f"cable may lose {circuit.main_drop_v:.2f} V: clearly more than the first is a bad joint; "
        "less current, less in proportion.",
    )
    if arrangement.parallel > 1:
        even = 100.0 / arrangement.parallel
        most = even * bank.unevenness
        yield Step(
            "loaded",
            f"Clamp meter on every string: {even:.0f} % each would be equal, "
            f"{most:.0f} % in the hardest is what these cables give; much more is a bad joint or "
            f"an unequal {_one(bank)}.",
        )
    yield Step(
        "loaded",
        f"Feel or photograph every joint after it: none more than {WARM_K:g} K "
        f"({1.8 * WARM_K:g} °F) warmer than its surroundings.",
    )


def _kept(case: Case, bank: Bank) -> Iterator[Step]:
    yield Step("kept", "Tighten every bolt to its torque again after a week, then each year.")
    yield Step(
        "kept",
        "Leave beside the bank: the drawing, this list with its figures, spare fuses of each "
        "class, and where the main switch is.",
    )
    yield Step(
        "kept",
        "Keep serial numbers, invoice and date; register the warranty; discharge it once under a "
        "known load in its first weeks and enter that test under After the purchase.",
    )


def together(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Steps that differ in nothing but the place as one, at all of these places."""
    places: dict[Step, list[str]] = {}
    for step in steps:
        places.setdefault(replace(step, where=""), []).append(step.where)
    return tuple(replace(step, where=", ".join(names)) for step, names in places.items())


def commissioning_html(case: Case, bank: Bank) -> str:
    """The checklist as a page to print: a box for each step, room for what was measured."""
    steps, label = together(commissioning(case, bank)), escape(bank.arrangement.label)
    body = []
    for stage, name in STAGES.items():
        rows = "".join(
            f"<tr><td>☐<td>{escape(step.where)}<td>{escape(told(step.what, case.units))}"
            f"<td>{escape(_from_to(step, case.units))}<td class=m></tr>"
            for step in steps
            if step.stage == stage
        )
        if rows:
            body.append(
                f"<h2>{escape(name)}</h2><table><thead><tr><th><th>at<th>what to do<th>set"
                f"<th>measured, by whom</tr></thead><tbody>{rows}</tbody></table>"
            )
    return (
        '<!doctype html><html lang="en"><meta charset="utf-8">'
        f"<title>Putting into service: {label}</title><style>"
        "body{font:13px/1.4 'DejaVu Sans',Verdana,sans-serif;color:#1d2733;margin:2em;"
        "background:#fff}h2{font-size:1.1em;margin:1.2em 0 .3em;break-after:avoid}"
        "table{border-collapse:collapse;width:100%}td,th{padding:.3em .6em;text-align:left;"
        "vertical-align:top;border-bottom:1px solid #b9c2ca}tr{break-inside:avoid}"
        ".m{min-width:9em}</style>"
        f"<h1>Putting into service: {label}</h1><p><strong>{escape(CAUTION)}</strong></p>"
        f"{''.join(body)}</html>"
    )


def _from_to(step: Step, units: str) -> str:
    before, after = told(step.before, units), told(step.after, units)
    return f"{before} → {after}" if before else after


def commissioning_lines(case: Case, bank: Bank) -> list[tuple[str, str]]:
    """Stage by stage for plain text: its name, and each step in one sentence."""
    return [
        (
            STAGES[step.stage],
            says(
                f"{step.where}: " if step.where else "",
                step.what,
                _arrow(step) if step.after else "",
            ),
        )
        for step in together(commissioning(case, bank))
    ]


def _arrow(step: Step) -> str:
    return says(" (", f"from {step.before} " if step.before else "", "to ", step.after, ")")
