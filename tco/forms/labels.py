"""What the fields of a case are called where people read and type them."""

from collections.abc import Sequence
from typing import get_args

from tco.case.parts import PartKind, Side, Wish
from tco.forms.entry import Entry, entry
from tco.forms.evidence_labels import (
    FACTOR,
    FAILING,
    MARK,
    PRIOR,
    REPORT,
    STATED_CLASS,
    STATED_RATE,
    TERMS,
    WEIGHT,
)
from tco.physics.ampacity import (
    INSULATIONS,
    UNKNOWN_INSULATION_DEGC,
    USUAL_INSULATION_DEGC,
    WiringCode,
)
from tco.physics.chemistry import CHEMISTRIES

CANDIDATE = (
    entry("name", "Name", "text"),
    entry("maker", "Maker", "text"),
    entry("chemistry", "Chemistry", "choice", choices=tuple(CHEMISTRIES)),
    entry("nominal_voltage_v", "Nominal"),
    entry("capacity_ah", "Capacity"),
    entry("price", "Price", "price"),
    entry("freight_price", "Freight", "price"),
    entry("width_mm", "Width"),
    entry("depth_mm", "Depth"),
    entry("height_mm", "Height"),
    entry("mass_kg", "Mass"),
    entry("usable_depth", "Usable", "share"),
    entry("continuous_discharge_a", "Discharge"),
    entry("peak_discharge_a", "Peak"),
    entry("continuous_charge_a", "Charge"),
    entry("charge_voltage_v", "Charged at"),
    entry("charge_min_degc", "Charge from"),
    entry("charge_max_degc", "Charge to"),
    entry("discharge_min_degc", "Discharge from"),
    entry("discharge_max_degc", "Discharge to"),
    entry("heater_w", "Heater"),
    entry("low_temperature_cutoff", "Cold cut-off", "yes_no"),
    entry("charge_display", "Charge display", "yes_no"),
    entry("cell_voltages_visible", "Cell voltages", "yes_no"),
    entry("bare_cell", "Bare cell", "yes_no"),
    entry("internal_management", "BMS inside", "yes_no"),
    entry("rated_cycles", "Cycles"),
    entry("rated_depth", "at depth", "share"),
    entry("end_of_life", "to health", "share"),
    entry("calendar_life_years", "Calendar life"),
    entry("self_discharge_per_month", "Self-discharge a month", "share"),
    entry("internal_resistance_mohm", "Resistance"),
    entry("short_circuit_a", "Short circuit"),
    entry("max_series", "Max in series", unit="packs"),
    entry("max_parallel", "Max in parallel", unit="strings"),
    entry("max_packs", "Max together", unit="packs"),
    entry("warranty_years", "Warranty"),
    entry("orientations", "Ways to stand", "words"),
    entry("terminal", "Terminals", "text"),
    entry("management_link", "BMS link", "text"),
    entry("lead_time_days", "Lead time"),
    entry("link", "Link", "text"),
    entry("notes", "Notes", "text"),
    entry("left_out", "Left out for now", "yes_no"),
)

MANAGEMENT_UNIT = (
    entry("name", "Unit", "text"),
    entry("chemistry", "For", "choice", choices=tuple(CHEMISTRIES)),
    entry("fewest_cells", "Cells in series, from", unit="cells"),
    entry("most_cells", "to", unit="cells"),
    entry("continuous_discharge_a", "Discharge"),
    entry("peak_discharge_a", "Peak"),
    entry("continuous_charge_a", "Charge"),
    entry("cell_voltages_visible", "Cell voltages", "yes_no"),
    entry("charge_display", "Charge display", "yes_no"),
    entry("low_temperature_cutoff", "Cold cut-off", "yes_no"),
    entry("price", "Price", "price"),
    entry("there", "There already", unit="pieces"),
    entry("link", "Link", "text"),
)

LOAD = (
    entry("name", "Load", "text"),
    entry("power_w", "Power each"),
    entry("current_a", "or"),
    entry("surge_w", "Starting"),
    entry("quantity", "Pieces"),
    entry("at_once", "At once"),
    entry("hours_per_day", "Runs", unit="h/day"),
    entry("when", "Hours of the day", "text"),
    entry("months", "Months", "months"),
    entry("via", "Fed by", "choice", choices=("dc", "inverter")),
    entry("essential", "Essential", "yes_no"),
    entry("also_when_away", "When away", "yes_no"),
    entry("cable_run_m", "Own cable run"),
)

_CHARGER = (
    entry("profiles", "Charge profiles", "words"),
    entry("adjustable", "Voltages adjustable", "yes_no"),
    entry("current_adjustable", "Current adjustable", "yes_no"),
    entry("charges_below_freezing", "Charges below freezing", "yes_no"),
    entry("replacement_price", "Price of one that suits", "price"),
    entry("cable_run_m", "Cable run"),
)
SOLAR = (
    entry("name", "Solar array", "text"),
    entry("peak_w", "Peak power"),
    entry("tilt_deg", "Tilt"),
    entry("azimuth_deg", "Azimuth (south 180)"),
    entry("controller_a", "Controller"),
    entry("panel_voltage_v", "Panels, open circuit"),
    entry("efficiency", "Efficiency", "share"),
    entry("temperature_coefficient_per_k", "Change per K", "share"),
    *_CHARGER,
)
ENGINE = (
    entry("name", "Engine charger", "text"),
    entry("rating_a", "Rating"),
    entry("direct", "Alternator direct", "yes_no"),
    entry("when", "Hours of the day", "text"),
    entry("energy_price_per_kwh", "Energy", "price", unit="/kWh"),
    *_CHARGER,
)
SHORE = (
    entry("name", "Mains charger", "text"),
    entry("rating_a", "Rating"),
    entry("when", "Hours of the day", "text"),
    entry("efficiency", "Efficiency", "share"),
    entry("energy_price_per_kwh", "Energy", "price", unit="/kWh"),
    *_CHARGER,
)
GENERATOR = (
    entry("name", "Generator", "text"),
    entry("rating_a", "Charger rating"),
    entry("start_below", "Started below", "share"),
    entry("stop_above", "Stopped above", "share"),
    entry("when", "Hours of the day", "text"),
    entry("months", "Months", "months"),
    entry("efficiency", "Efficiency", "share"),
    entry("energy_price_per_kwh", "Energy", "price", unit="/kWh"),
    *_CHARGER,
)
SPACE = (
    entry("name", "Space", "text"),
    entry("width_mm", "Width"),
    entry("depth_mm", "Depth"),
    entry("height_mm", "Height"),
    entry("opening_side", "Opening in", "choice", choices=("top", "front")),
    entry("opening_width_mm", "Opening width"),
    entry("opening_height_mm", "Opening other way"),
    entry("clearance_side_mm", "Gap at the walls"),
    entry("clearance_between_mm", "Gap between packs"),
    entry("clearance_top_mm", "Gap above"),
    entry("stacking", "Shelf possible", "yes_no"),
    entry("orientations", "Ways to stand", "words"),
    entry("place", "Place", "choice", choices=("heated", "insulated", "outside")),
    entry("warmth", "Share of indoor warmth", "share"),
    entry("foam_mm", "Foam around packs"),
    entry("foam_conductivity", "Foam conducts", unit="W/(m K)"),
    entry("engine_space", "In engine space", "yes_no"),
    entry("vent_diameter_mm", "Two vents, each across"),
)
SYSTEM = (
    entry("nominal_voltage_v", "Nominal voltage", "choice", choices=("12", "24", "36", "48")),
    entry("mass_limit_kg", "Mass limit", none="no limit"),
    entry("cable_run_m", "Longest one-way cable run"),
    entry("between_spaces_m", "Cable between spaces", none="as the run"),
    entry("conductor_sizes", "Cable sizes in", "choice", choices=("mm2", "awg")),
    entry("take_off", "Strings joined by", "choice", choices=("busbars", "diagonal", "one end")),
    entry("bundled_conductors", "Cables bundled together", unit="cables"),
    entry(
        "insulation_degc",
        "Cable insulated for, °C",
        "choice",
        choices=tuple(map(str, INSULATIONS)),
        none=f"{USUAL_INSULATION_DEGC} assumed, {UNKNOWN_INSULATION_DEGC} of cable in place",
    ),
    entry("wiring_code", "Ampacities by", "choice", choices=get_args(WiringCode)),
    entry("loads_highest_voltage_v", "Direct loads bear", none="31/24 of nominal"),
)
PARTS = (
    entry("name", "Part", "text"),
    entry("kind", "Kind", "choice", choices=get_args(PartKind)),
    entry("branch", "In the branch", "text"),
    entry("side", "Of a controller", "choice", choices=get_args(Side)),
    entry("quantity", "Pieces"),
    entry("rating_a", "Rating"),
    entry("rating_v", "Opens at up to"),
    entry("fuse_class", "Fuse or breaker class", "text"),
    entry("size", "Cable size", "text"),
    entry("insulation_degc", "Insulated for, °C", "choice", choices=tuple(map(str, INSULATIONS))),
    entry("length_m", "Cable length"),
    entry("age_years", "Age"),
    entry("sale_price", "Sells for", "price"),
    entry("price", "New one", "price"),
    entry("yearly_upkeep", "Upkeep", "price", unit="/year"),
    entry("wish", "You want to", "choice", choices=get_args(Wish)),
    entry("serves", "Spare for", "choice", choices=get_args(PartKind)),
    entry("note", "Note", "text"),
    entry("link", "Link", "text"),
)
INVERTER = (
    entry("continuous_w", "Continuous", none="no inverter"),
    entry("surge_w", "Surge", none="twice continuous"),
    entry("efficiency", "Efficiency", "share"),
    entry("idle_w", "Idle draw"),
    entry("cutoff_voltage_v", "Cut-off", none="7/8 of nominal"),
    entry("highest_voltage_v", "Bears", none="31/24 of nominal"),
    entry("always_on", "Always on", "yes_no"),
)
REQUIRED = (
    entry("charge_display", "Charge display required", "yes_no"),
    entry("cell_voltages_visible", "Cell voltages required", "yes_no"),
    entry("low_temperature_cutoff", "Cold cut-off required", "yes_no"),
)
OLD_BANK = (
    entry("chemistry", "Chemistry of the old bank", "choice", choices=tuple(CHEMISTRIES)),
    entry("mass_kg", "Its mass"),
    entry("capacity_ah", "Its capacity, new"),
    entry("age_years", "Its age"),
    entry("sale_price", "Sold for", "price"),
)
USE = (
    entry("months_in_use", "Months in use", "months"),
    entry("away_pattern", "Days away come", "choice", choices=("each week", "one block")),
    entry("living_degc", "Living space kept at"),
    entry("storage_charge", "Stored at charge, lithium and sodium", "share"),
    entry("storage_charge_lead", "Stored at charge, lead-acid", "share"),
    entry(
        "charged_when_laid_up", "Charged when laid up", "choice", choices=("no", "solar", "shore")
    ),
    entry("heater_when_laid_up", "Battery heaters on when laid up", "yes_no"),
    entry("commercial", "Earns its living (warranty)", "yes_no"),
)
CLIMATE = (
    entry("site", "Site", "text"),
    entry("latitude_deg", "Latitude"),
    entry(
        "weather_file", "Weather file (EPW, TMY3, PVGIS), path", "text", none="none: months below"
    ),
)
WEATHER = (
    entry("mean_degc", "Mean day"),
    entry("min_degc", "Usual night (mean daily minimum)"),
    entry("max_degc", "Usual afternoon (mean daily maximum)"),
    entry("irradiation_kwh_per_m2_day", "Sun on the flat", unit="kWh/m² a day"),
)
MONEY = (
    entry("currency", "Currency sign", "text"),
    entry("tax_rate", "Tax on top of prices", "share"),
    entry("discount_rate", "Discount rate, nominal", "share"),
    entry("inflation", "Inflation", "share"),
    entry("pack_price_trend", "Pack prices a year, real", "share"),
    entry("day_without_power_price", "A day without power", "price"),
    entry("hour_without_power_price", "An hour without power, on top of the day", "price"),
    entry("dangerous_goods_price", "Dangerous goods, a pack", "price"),
    entry("claim_trouble", "Trouble of one claim", "price"),
    entry("usual_lead_time_days", "Usual lead time"),
)
WORK = (
    entry("labour_per_hour", "Labour", "price", unit="/h"),
    entry("own_labour", "The work is my own", "yes_no"),
    entry("minutes_per_pack", "Setting one pack", unit="min"),
    entry("minutes_per_termination", "One cable end", unit="min"),
    entry("minutes_per_kg_lifted", "Lifting", unit="min/kg"),
    entry("minutes_per_cell", "Building in one bare cell", unit="min"),
    entry("check_minutes_per_termination_year", "Yearly check of one end", unit="min"),
    entry("busbar_price", "One busbar", "price"),
    entry("heat_shrink_price", "Heat-shrink, one end", "price"),
    entry("external_management_price", "External management, a unit", "price"),
    entry("contactor_price", "Contactor", "price"),
    entry("cell_link_price", "Link of bare cells, one terminal", "price"),
    entry("cell_insulation_price", "Insulation, one cell", "price"),
    entry("compression_price", "Compression, one row of cells", "price"),
    entry("switch_price", "Main switch", "price"),
    entry("monitor_price", "Battery monitor", "price"),
    entry("alternator_protection_price", "Alternator protection", "price"),
    entry("disposal_price_per_kg_lithium", "Disposal, lithium", "price", unit="/kg"),
    entry("disposal_price_per_kg_sodium", "Disposal, sodium", "price", unit="/kg"),
    entry("disposal_price_per_kg_lead", "Disposal, lead (minus: paid)", "price", unit="/kg"),
)
CONDUCTOR_PRICES = (
    entry("size", "Cable", "text"),
    entry("price_per_m", "Cable", "price", unit="/m"),
    entry("lug_price", "One lug", "price"),
    entry("link", "Link", "text"),
)
FUSE_PRICES = (
    entry("fuse_class", "Fuse class", "text"),
    entry("fuse_price", "Fuse", "price"),
    entry("holder_price", "Holder", "price"),
    entry("link", "Link", "text"),
)
LIFE = (
    entry("horizon_years", "Years compared"),
    entry("autonomy_days", "Autonomy"),
    entry("end_of_life_health", "Replaced at health", "share"),
    entry("lead_end_of_life_health", "Lead-acid replaced at health", "share"),
    entry("credibility", "Rated cycles and years believed", "share"),
    entry("longest_life_years", "Longest life of any bank", unit="years"),
    entry("tolerated_hours_without_power", "Outage tolerated", unit="h/year"),
    entry("lost_day_hours", "Hours short that cost a day", unit="h"),
    entry("sulphation", "Lead never filled wears more by", "share"),
    entry("resale_share", "Resale of the life left", "share"),
    entry("spare_packs", "Spare packs on the shelf", unit="packs"),
    entry("rewired_share", "Rewired at a replacement", "share"),
)
SEARCH = (
    entry("max_packs", "Largest bank tried", unit="packs"),
    entry("largest_bank_over_need", "and no larger than", unit="× the need"),
    entry(
        "current_to_carry",
        "Current to carry",
        "choice",
        choices=("inverter rating", "loads at once"),
    ),
    entry("critical_drop", "Voltage drop allowed", "share"),
    entry("surge_seconds", "A surge lasts", unit="s"),
    entry("clearness_spread", "Spread of dull and clear days", unit="× published"),
    entry("weather_years", "Weather simulated"),
    entry("seed", "Number that starts the weather", unit="–"),
)

_TIMES = (entry("low", "Low", unit="times the case's own"), entry("high", "High"))
_POINTS = (
    entry("low", "Low", "share", unit="percentage points added"),
    entry("high", "High", "share"),
)
SPREADS = (
    ("pack_price", "Price of the packs", _TIMES),
    ("later_pack_price", "Price of packs bought later", _TIMES),
    ("parts_and_labour", "Parts and labour", _TIMES),
    ("cycle_life", "Life in cycles, all packs alike", _TIMES),
    ("calendar_life", "Life in years, all packs alike", _TIMES),
    ("pack_luck", "Life, each model by itself", _TIMES),
    ("energy_use", "Energy used", _TIMES),
    ("energy_price", "Price of energy", _TIMES),
    ("day_without_power", "Cost of a day without power", _TIMES),
    ("resale", "Resale value", _TIMES),
    ("discount_rate", "Discount rate", _POINTS),
    ("inflation", "Inflation", _POINTS),
)
"""Uncertain quantities: field, what it is called, and its two ends."""

SECTIONS = {
    "candidates": CANDIDATE,
    "management_units": MANAGEMENT_UNIT,
    "loads": LOAD,
    "solar": SOLAR,
    "engine": ENGINE,
    "shore": SHORE,
    "generator": GENERATOR,
    "spaces": SPACE,
    "parts": PARTS,
    "inverter": INVERTER,
    "required": REQUIRED,
    "old_bank": OLD_BANK,
    "system": SYSTEM,
    "use": USE,
    "climate": (*CLIMATE, *WEATHER),
    "conductors": CONDUCTOR_PRICES,
    "fuses": FUSE_PRICES,
    "prices": (*MONEY, *WORK),
    "assumptions": (*LIFE, *SEARCH),
    "evidence": REPORT,
    "marks": MARK,
    "warranties": TERMS,
    "reliability": FAILING,
    "priors": PRIOR,
    "weights": WEIGHT,
    "mark_factors": FACTOR,
    "stated_classes": STATED_CLASS,
    "stated_rates": STATED_RATE,
    **{name: ends for name, _, ends in SPREADS},
}
"""Entries by the section of the case they stand in."""

CASE = (
    entry("title", "Title", "text"),
    entry("story", "Story", "text"),
    entry("units", "Units", "choice", choices=("metric", "imperial")),
)
SHADE = entry("shade", "Light lost", "share")
ENGINE_HOURS = entry("hours_per_day", "Engine runs", unit="h/day")
NIGHTS = entry("nights_per_month", "Nights on hook-up", unit="nights")
DAYS_AWAY = entry("days_away_per_month", "Days away", unit="days")
_MONTHLY = {entry.field: entry for entry in (SHADE, ENGINE_HOURS, NIGHTS, DAYS_AWAY)}


def entry_of(steps: Sequence[str]) -> Entry:
    """The entry of a field at a path of field names, such as `("candidates", "mass_kg")`."""
    *above, name = steps
    section = next((step for step in reversed(above) if step in SECTIONS), "")
    entries = SECTIONS[section] if section else CASE
    found = next((entry for entry in entries if entry.field == name), None)
    return found or _MONTHLY.get(name) or Entry(name, name.replace("_", " "), "text")


def label_of(dotted: str) -> str:
    """What a field of the case is called on the screens: `candidates[2].mass_kg` is "Mass"."""
    return entry_of([step.split("[")[0] for step in dotted.split(".")]).label
