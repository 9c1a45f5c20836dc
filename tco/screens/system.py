"""The system and its use: what has to be fed, from what, where and when."""

import streamlit as st

from tco.forms import labels
from tco.report import charts, year_frames
from tco.report.sentences import need
from tco.screens import parts, state
from tco.screens.state import Workspace

LOAD_WIDTHS = {
    "name": 172, "power_w": 134, "current_a": 74, "surge_w": 112, "quantity": 84, "at_once": 90,
    "hours_per_day": 112, "when": 126, "months": 100, "via": 88, "essential": 96,
    "also_when_away": 118,
}  # fmt: skip


def main() -> None:
    """Draw the screen."""
    held = parts.opening()
    top = st.container()
    parts.heading("The system")
    parts.form(held, ("system",), labels.SYSTEM, columns=3)
    parts.heading("Spaces the packs may stand in")
    parts.grid(
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
        parts.form(held, ("system", "inverter"), labels.INVERTER, columns=3, optional=True)
    with right:
        parts.heading("The old bank")
        parts.form(held, ("system", "old_bank"), labels.OLD_BANK, columns=3, optional=True)
    parts.heading("What a pack must have")
    parts.form(held, ("system", "required"), labels.REQUIRED, columns=4)
    parts.heading("Parts already installed")
    parts.grid(held, ("system", "parts"), labels.PARTS)
    parts.heading("Loads")
    parts.grid(
        held,
        ("loads",),
        labels.LOAD,
        height=min(560, 38 + 35 * (len(held.rows(("loads",))) + 1)),
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
        parts.grid(held, ("sources", path), entries)
    parts.heading("When somebody is there")
    parts.form(held, ("use",), labels.USE, columns=3)
    parts.heading("Climate")
    parts.form(held, ("climate",), labels.CLIMATE)
    parts.heading("Month by month")
    parts.months_grid(held, "climate", _lines(held))
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
        st.altair_chart(charts.budget_heat(year_frames.budget(comparison)), theme=None)
    with right:
        parts.heading("Energy a day, by month")
        st.altair_chart(charts.daily_bars(year_frames.daily_need(comparison)), theme=None)


def _lines(
    held: Workspace,
) -> list[tuple[tuple[str, ...], int | None, labels.Entry, float]]:
    lines: list[tuple[tuple[str, ...], int | None, labels.Entry, float]] = [
        (("climate",), None, entry, 0.0) for entry in labels.WEATHER
    ]
    away = labels.Entry("days_away_per_month", "Days away", unit="days")
    lines.append((("use",), None, away, 0.0))
    for kind, field, words, unit in (
        ("solar", "shade", "Light lost", ""),
        ("engine", "hours_per_day", "Engine runs", "h/day"),
        ("shore", "nights_per_month", "Nights on hook-up", "nights"),
    ):
        for index, row in enumerate(held.rows(("sources", kind))):
            label = f"{words}, {row.get('name', kind)}"
            share = "share" if field == "shade" else "number"
            entry = labels.Entry(field, label, share, unit=unit)  # type: ignore[arg-type]
            lines.append((("sources", kind), index, entry, 0.0))
    return lines


main()
