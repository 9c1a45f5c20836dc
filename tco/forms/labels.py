"""What the fields of a case are called where people read and type them."""

from collections.abc import Sequence
from typing import get_args

from tco.case.parts import PartKind
from tco.forms.entry import Entry
from tco.forms.entry import entry as _e
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
    _e("name", "Name", "text"),
    _e("maker", "Maker", "text"),
    _e("chemistry", "Chemistry", "choice", choices=tuple(CHEMISTRIES)),
    _e("nominal_voltage_v", "Nominal"),
    _e("capacity_ah", "Capacity"),
    _e("price", "Price", "price"),
    _e("freight_price", "Freight", "price"),
    _e("width_mm", "Width"),
    _e("depth_mm", "Depth"),
    _e("height_mm", "Height"),
    _e("mass_kg", "Mass"),
    _e("usable_depth", "Usable", "share"),
    _e("continuous_discharge_a", "Discharge"),
    _e("peak_discharge_a", "Peak"),
    _e("continuous_charge_a", "Charge"),
    _e("charge_voltage_v", "Charged at"),
    _e("charge_min_degc", "Charge from"),
    _e("charge_max_degc", "Charge to"),
    _e("discharge_min_degc", "Discharge from"),
    _e("discharge_max_degc", "Discharge to"),
    _e("heater_w", "Heater"),
    _e("low_temperature_cutoff", "Cold cut-off", "yes_no"),
    _e("charge_display", "Charge display", "yes_no"),
    _e("cell_voltages_visible", "Cell voltages", "yes_no"),
    _e("bare_cell", "Bare cell", "yes_no"),
    _e("internal_management", "BMS inside", "yes_no"),
    _e("rated_cycles", "Cycles"),
    _e("rated_depth", "at depth", "share"),
    _e("end_of_life", "to health", "share"),
    _e("calendar_life_years", "Calendar life"),
    _e("self_discharge_per_month", "Self-discharge a month", "share"),
    _e("internal_resistance_mohm", "Resistance"),
    _e("short_circuit_a", "Short circuit"),
    _e("max_series", "Max in series", unit="packs"),
    _e("max_parallel", "Max in parallel", unit="strings"),
    _e("max_packs", "Max together", unit="packs"),
    _e("warranty_years", "Warranty"),
    _e("orientations", "Ways to stand", "words"),
    _e("terminal", "Terminals", "text"),
    _e("management_link", "BMS link", "text"),
    _e("lead_time_days", "Lead time"),
    _e("link", "Link", "text"),
    _e("notes", "Notes", "text"),
    _e("left_out", "Left out for now", "yes_no"),
)

MANAGEMENT_UNIT = (
    _e("name", "Unit", "text"),
    _e("chemistry", "For", "choice", choices=tuple(CHEMISTRIES)),
    _e("fewest_cells", "Cells in series, from", unit="cells"),
    _e("most_cells", "to", unit="cells"),
    _e("continuous_discharge_a", "Discharge"),
    _e("peak_discharge_a", "Peak"),
    _e("continuous_charge_a", "Charge"),
    _e("cell_voltages_visible", "Cell voltages", "yes_no"),
    _e("charge_display", "Charge display", "yes_no"),
    _e("low_temperature_cutoff", "Cold cut-off", "yes_no"),
    _e("price", "Price", "price"),
    _e("there", "There already", unit="pieces"),
    _e("link", "Link", "text"),
)

LOAD = (
    _e("name", "Load", "text"),
    _e("power_w", "Power each"),
    _e("current_a", "or"),
    _e("surge_w", "Starting"),
    _e("quantity", "Pieces"),
    _e("at_once", "At once"),
    _e("hours_per_day", "Runs", unit="h/day"),
    _e("when", "Hours of the day", "text"),
    _e("months", "Months", "months"),
    _e("via", "Fed by", "choice", choices=("dc", "inverter")),
    _e("essential", "Essential", "yes_no"),
    _e("also_when_away", "When away", "yes_no"),
    _e("cable_run_m", "Own cable run"),
)

_CHARGER = (
    _e("profiles", "Charge profiles", "words"),
    _e("adjustable", "Voltages adjustable", "yes_no"),
    _e("current_adjustable", "Current adjustable", "yes_no"),
    _e("charges_below_freezing", "Charges below freezing", "yes_no"),
    _e("replacement_price", "Price of one that suits", "price"),
    _e("cable_run_m", "Cable run"),
)
SOLAR = (
    _e("name", "Solar array", "text"),
    _e("peak_w", "Peak power"),
    _e("tilt_deg", "Tilt"),
    _e("azimuth_deg", "Azimuth (south 180)"),
    _e("controller_a", "Controller"),
    _e("efficiency", "Efficiency", "share"),
    _e("temperature_coefficient_per_k", "Change per K", "share"),
    *_CHARGER,
)
ENGINE = (
    _e("name", "Engine charger", "text"),
    _e("rating_a", "Rating"),
    _e("direct", "Alternator direct", "yes_no"),
    _e("when", "Hours of the day", "text"),
    _e("energy_price_per_kwh", "Energy", "price", unit="/kWh"),
    *_CHARGER,
)
SHORE = (
    _e("name", "Mains charger", "text"),
    _e("rating_a", "Rating"),
    _e("when", "Hours of the day", "text"),
    _e("efficiency", "Efficiency", "share"),
    _e("energy_price_per_kwh", "Energy", "price", unit="/kWh"),
    *_CHARGER,
)
GENERATOR = (
    _e("name", "Generator", "text"),
    _e("rating_a", "Charger rating"),
    _e("start_below", "Started below", "share"),
    _e("stop_above", "Stopped above", "share"),
    _e("when", "Hours of the day", "text"),
    _e("months", "Months", "months"),
    _e("efficiency", "Efficiency", "share"),
    _e("energy_price_per_kwh", "Energy", "price", unit="/kWh"),
    *_CHARGER,
)
SPACE = (
    _e("name", "Space", "text"),
    _e("width_mm", "Width"),
    _e("depth_mm", "Depth"),
    _e("height_mm", "Height"),
    _e("opening_side", "Opening in", "choice", choices=("top", "front")),
    _e("opening_width_mm", "Opening width"),
    _e("opening_height_mm", "Opening other way"),
    _e("clearance_side_mm", "Gap at the walls"),
    _e("clearance_between_mm", "Gap between packs"),
    _e("clearance_top_mm", "Gap above"),
    _e("stacking", "Shelf possible", "yes_no"),
    _e("orientations", "Ways to stand", "words"),
    _e("place", "Place", "choice", choices=("heated", "insulated", "outside")),
    _e("warmth", "Share of indoor warmth", "share"),
    _e("foam_mm", "Foam around packs"),
    _e("foam_conductivity", "Foam conducts", unit="W/(m K)"),
    _e("engine_space", "In engine space", "yes_no"),
    _e("vent_diameter_mm", "Two vents, each across"),
)
SYSTEM = (
    _e("nominal_voltage_v", "Nominal voltage", "choice", choices=("12", "24", "36", "48")),
    _e("mass_limit_kg", "Mass limit", none="no limit"),
    _e("cable_run_m", "Longest one-way cable run"),
    _e("between_spaces_m", "Cable between spaces", none="as the run"),
    _e("conductor_sizes", "Cable sizes in", "choice", choices=("mm2", "awg")),
    _e("take_off", "Strings joined by", "choice", choices=("busbars", "diagonal", "one end")),
    _e("bundled_conductors", "Cables bundled together", unit="cables"),
    _e(
        "insulation_degc",
        "Cable insulated for, °C",
        "choice",
        choices=tuple(map(str, INSULATIONS)),
        none=f"{USUAL_INSULATION_DEGC} assumed, {UNKNOWN_INSULATION_DEGC} of cable in place",
    ),
    _e("wiring_code", "Ampacities by", "choice", choices=get_args(WiringCode)),
    _e("loads_highest_voltage_v", "Direct loads bear", none="31/24 of nominal"),
)
PARTS = (
    _e("name", "Part", "text"),
    _e("kind", "Kind", "choice", choices=get_args(PartKind)),
    _e("quantity", "Pieces"),
    _e("rating_a", "Rating"),
    _e("fuse_class", "Fuse class", "text"),
    _e("size", "Cable size", "text"),
    _e("insulation_degc", "Insulated for, °C", "choice", choices=tuple(map(str, INSULATIONS))),
    _e("length_m", "Cable length"),
    _e("age_years", "Age"),
    _e("sale_price", "Sells for", "price"),
    _e("price", "New one", "price"),
    _e("yearly_upkeep", "Upkeep", "price", unit="/year"),
    _e("note", "Note", "text"),
    _e("link", "Link", "text"),
)
INVERTER = (
    _e("continuous_w", "Continuous", none="no inverter"),
    _e("surge_w", "Surge", none="twice continuous"),
    _e("efficiency", "Efficiency", "share"),
    _e("idle_w", "Idle draw"),
    _e("cutoff_voltage_v", "Cut-off", none="7/8 of nominal"),
    _e("highest_voltage_v", "Bears", none="31/24 of nominal"),
    _e("always_on", "Always on", "yes_no"),
)
REQUIRED = (
    _e("charge_display", "Charge display required", "yes_no"),
    _e("cell_voltages_visible", "Cell voltages required", "yes_no"),
    _e("low_temperature_cutoff", "Cold cut-off required", "yes_no"),
)
OLD_BANK = (
    _e("chemistry", "Chemistry of the old bank", "choice", choices=tuple(CHEMISTRIES)),
    _e("mass_kg", "Its mass"),
    _e("capacity_ah", "Its capacity, new"),
    _e("age_years", "Its age"),
    _e("sale_price", "Sold for", "price"),
)
USE = (
    _e("months_in_use", "Months in use", "months"),
    _e("away_pattern", "Days away come", "choice", choices=("each week", "one block")),
    _e("living_degc", "Living space kept at"),
    _e("storage_charge", "Stored at charge, lithium and sodium", "share"),
    _e("storage_charge_lead", "Stored at charge, lead-acid", "share"),
    _e("charged_when_laid_up", "Charged when laid up", "choice", choices=("no", "solar", "shore")),
    _e("heater_when_laid_up", "Battery heaters on when laid up", "yes_no"),
    _e("commercial", "Earns its living (warranty)", "yes_no"),
)
CLIMATE = (
    _e("site", "Site", "text"),
    _e("latitude_deg", "Latitude"),
    _e("weather_file", "Weather file (EPW, TMY3, PVGIS), path", "text", none="none: months below"),
)
WEATHER = (
    _e("mean_degc", "Mean day"),
    _e("min_degc", "Usual night (mean daily minimum)"),
    _e("max_degc", "Usual afternoon (mean daily maximum)"),
    _e("irradiation_kwh_per_m2_day", "Sun on the flat", unit="kWh/m² a day"),
)
MONEY = (
    _e("currency", "Currency sign", "text"),
    _e("tax_rate", "Tax on top of prices", "share"),
    _e("discount_rate", "Discount rate, nominal", "share"),
    _e("inflation", "Inflation", "share"),
    _e("pack_price_trend", "Pack prices a year, real", "share"),
    _e("day_without_power_price", "A day without power", "price"),
    _e("hour_without_power_price", "An hour without power, on top of the day", "price"),
    _e("dangerous_goods_price", "Dangerous goods, a pack", "price"),
    _e("claim_trouble", "Trouble of one claim", "price"),
    _e("usual_lead_time_days", "Usual lead time"),
)
WORK = (
    _e("labour_per_hour", "Labour", "price", unit="/h"),
    _e("own_labour", "The work is my own", "yes_no"),
    _e("minutes_per_pack", "Setting one pack", unit="min"),
    _e("minutes_per_termination", "One cable end", unit="min"),
    _e("minutes_per_kg_lifted", "Lifting", unit="min/kg"),
    _e("minutes_per_cell", "Building in one bare cell", unit="min"),
    _e("check_minutes_per_termination_year", "Yearly check of one end", unit="min"),
    _e("busbar_price", "One busbar", "price"),
    _e("heat_shrink_price", "Heat-shrink, one end", "price"),
    _e("external_management_price", "External management, a unit", "price"),
    _e("contactor_price", "Contactor", "price"),
    _e("cell_link_price", "Link of bare cells, one terminal", "price"),
    _e("cell_insulation_price", "Insulation, one cell", "price"),
    _e("compression_price", "Compression, one row of cells", "price"),
    _e("switch_price", "Main switch", "price"),
    _e("monitor_price", "Battery monitor", "price"),
    _e("alternator_protection_price", "Alternator protection", "price"),
    _e("disposal_price_per_kg_lithium", "Disposal, lithium", "price", unit="/kg"),
    _e("disposal_price_per_kg_sodium", "Disposal, sodium", "price", unit="/kg"),
    _e("disposal_price_per_kg_lead", "Disposal, lead (minus: paid)", "price", unit="/kg"),
)
CONDUCTOR_PRICES = (
    _e("size", "Cable", "text"),
    _e("price_per_m", "Cable", "price", unit="/m"),
    _e("lug_price", "One lug", "price"),
    _e("link", "Link", "text"),
)
FUSE_PRICES = (
    _e("fuse_class", "Fuse class", "text"),
    _e("fuse_price", "Fuse", "price"),
    _e("holder_price", "Holder", "price"),
    _e("link", "Link", "text"),
)
LIFE = (
    _e("horizon_years", "Years compared"),
    _e("autonomy_days", "Autonomy"),
    _e("end_of_life_health", "Replaced at health", "share"),
    _e("credibility", "Rated cycles and years believed", "share"),
    _e("longest_life_years", "Longest life of any bank", unit="years"),
    _e("tolerated_hours_without_power", "Outage tolerated", unit="h/year"),
    _e("lost_day_hours", "Hours short that cost a day", unit="h"),
    _e("sulphation", "Lead never filled wears more by", "share"),
    _e("resale_share", "Resale of the life left", "share"),
    _e("spare_packs", "Spare packs on the shelf", unit="packs"),
    _e("rewired_share", "Rewired at a replacement", "share"),
)
SEARCH = (
    _e("max_packs", "Largest bank tried", unit="packs"),
    _e("largest_bank_over_need", "and no larger than", unit="× the need"),
    _e(
        "current_to_carry",
        "Current to carry",
        "choice",
        choices=("inverter rating", "loads at once"),
    ),
    _e("critical_drop", "Voltage drop allowed", "share"),
    _e("surge_seconds", "A surge lasts", unit="s"),
    _e("clearness_spread", "Spread of dull and clear days", unit="× published"),
    _e("weather_years", "Weather simulated"),
    _e("seed", "Number that starts the weather", unit="–"),
)

_TIMES = (_e("low", "Low", unit="times the case's own"), _e("high", "High"))
_POINTS = (_e("low", "Low", "share", unit="percentage points added"), _e("high", "High", "share"))
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
    _e("title", "Title", "text"),
    _e("story", "Story", "text"),
    _e("units", "Units", "choice", choices=("metric", "imperial")),
)
SHADE = _e("shade", "Light lost", "share")
ENGINE_HOURS = _e("hours_per_day", "Engine runs", unit="h/day")
NIGHTS = _e("nights_per_month", "Nights on hook-up", unit="nights")
DAYS_AWAY = _e("days_away_per_month", "Days away", unit="days")
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
