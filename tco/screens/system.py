"""The system and its use: what has to be fed, from what, where and when."""

import streamlit as st

from tco.forms import labels
from tco.forms.monthly import Line
from tco.physics.fuse_classes import BREAKERS
from tco.report.inputs.words import need
from tco.report.years import charts
from tco.report.years import frames as year_frames
from tco.screens import bar, fields, parts, state
from tco.screens.state import Workspace
from tco.workspace.document import rows

LOAD_WIDTHS = {
    "name": 172, "power_w": 134, "current_a": 74, "surge_w": 112, "quantity": 84, "at_once": 90,
    "hours_per_day": 112, "when": 126, "months": 100, "via": 88, "essential": 96,
    "also_when_away": 118,
}  # fmt: skip


def main() -> None:
    """Draw the screen."""
    held = bar.top("system")
    top = st.container()
    parts.heading("The system")
    fields.form(held, ("system",), labels.SYSTEM, columns=3)
    parts.heading("Spaces the packs may stand in")
    fields.grid(
        held,
        ("system", "spaces"),
        labels.SPACE,
        help_text="With foam around the packs give the measures inside it, and keep terminals, "
        "vents and fuses free. Most foams burn: the battery's maker and local code say whether it "
        "may be there.",
    )
    left, right = st.columns([1.5, 1], gap="medium")
    with left:
        parts.heading("Inverter")
        fields.form(held, ("system", "inverter"), labels.INVERTER, columns=3, optional=True)
    with right:
        parts.heading("The old bank")
        fields.form(held, ("system", "old_bank"), labels.OLD_BANK, columns=3, optional=True)
    parts.heading("What a pack must have")
    fields.form(held, ("system", "required"), labels.REQUIRED, columns=4)
    parts.heading("Parts already installed")
    fields.grid(
        held,
        ("system", "parts"),
        labels.PARTS,
        help_text="Nothing has to be listed. A cable, fuse, breaker or isolator of a branch names "
        "what it leads to: a charger, a load with its own cable, inverter or DC fuse block. "
        f"Breakers are of class {', '.join(one.name for one in BREAKERS)}, each taken to interrupt "
        "what such breakers do at least: read on its label that it does, and that it is for DC.",
    )
    parts.heading("Loads")
    fields.grid(
        held,
        ("loads",),
        labels.LOAD,
        height=470,
        widths=LOAD_WIDTHS,
        help_text="Give watts or amps. Hours of the day such as 7-9, 15-22 or evening; months such "
        "as Oct-Apr. Empty cells take the usual: one piece, any time, all year, essential.",
    )
    parts.heading("What charges")
    for path, entries in (
        ("solar", labels.SOLAR),
        ("engine", labels.ENGINE),
        ("shore", labels.SHORE),
        ("generator", labels.GENERATOR),
    ):
        fields.grid(held, ("sources", path), entries)
    parts.heading("When somebody is there")
    fields.form(held, ("use",), labels.USE, columns=3)
    parts.heading("Climate")
    fields.form(held, ("climate",), labels.CLIMATE)
    parts.heading("Month by month")
    fields.months_grid(held, "climate", _lines(held))
    with top:
        _opening(held)


def _opening(held: Workspace) -> None:
    comparison = state.comparison_of(held)
    parts.troubles(held)
    parts.sentence(need(comparison))
    if float(comparison.budget.daily_wh.max()) <= 0:
        return
    left, right = st.columns([1.7, 1], gap="medium")
    with left:
        parts.heading("When the power is drawn")
        parts.chart(charts.budget_heat(year_frames.budget(comparison)))
    with right:
        parts.heading("Energy a day, by month")
        parts.chart(charts.daily_bars(year_frames.daily_need(comparison)))


def _lines(held: Workspace) -> list[Line]:
    lines = [Line(("climate",), entry, entry.label, None) for entry in labels.WEATHER]
    lines.append(Line(("use",), labels.DAYS_AWAY, labels.DAYS_AWAY.label))
    for kind, entry in (
        ("solar", labels.SHADE), ("engine", labels.ENGINE_HOURS), ("shore", labels.NIGHTS)
    ):  # fmt: skip
        table = ("sources", kind)
        for row in rows(held.view, table):
            name = held.view.get((*table, row, "name")) or kind
            lines.append(Line((*table, row), entry, f"{entry.label}, {name}"))
    return lines


main()
