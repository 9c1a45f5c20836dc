"""Sodium-ion."""

from tco.physics.chemistry.entry import MEMORY, TRADE, Chemistry, Datum

_SODIUM = Chemistry(
    key="sodium-ion",
    name="sodium-ion",
    family="sodium",
    aliases=("sodium", "sodium ion", "na-ion", "naion"),
    colour="#009E73",
    mark="square",
    cell_management=True,
    cold_charge_cutoff=True,
    plates_when_cold=False,
    temperature_compensation=False,
    sulphates=False,
    gassing="none",
    dangerous_goods=True,
    names_system_voltage=False,
    ieee485=False,
    second_model="no",
    cell_voltage_v=3.0,
    open_circuit_v=(1.80, 2.40, 2.63, 2.78, 2.90, 3.01, 3.12, 3.24, 3.37, 3.52, 3.90),
    capacity_by_temperature=((-40.0, 0.60), (-20.0, 0.85), (0.0, 0.93), (25.0, 1.0)),
    capacity_source=MEMORY,
    resistance_ohm_ah=Datum(0.35, MEMORY),
    fault_ohm_ah=Datum(0.08, MEMORY),
    hard_fault=True,
    charge_transfer_share=0.35,
    charge_transfer_j_per_mol=30_000.0,
    ohmic_j_per_mol=15_000.0,
    coulombic_efficiency=Datum(0.99, MEMORY),
    taper_from_soc=0.92,
    peukert_exponent=Datum(1.0, "rate effect carried by resistance"),
    rated_hours=5.0,
    usable_depth=Datum(0.9, TRADE),
    discharge_rate_c=Datum(0.5, TRADE + "; cautious"),
    peak_rate_c=Datum(1.0, TRADE + "; cautious"),
    charge_rate_c=Datum(0.5, TRADE),
    charge_min_degc=Datum(-10.0, MEMORY),
    charge_max_degc=Datum(50.0, TRADE),
    discharge_min_degc=Datum(-30.0, MEMORY),
    discharge_max_degc=Datum(60.0, TRADE),
    self_discharge_per_month=Datum(0.03, MEMORY),
    rated_cycles=Datum(2500.0, MEMORY),
    rated_depth=Datum(0.8, TRADE),
    end_of_life=Datum(0.8, TRADE),
    calendar_life_years=Datum(12.0, MEMORY),
    ageing="power",
    loss_exponent=0.5,  # as lithium iron phosphate: none of its own is known to us
    # none known to us; hard carbon grows a film as graphite does (memory), so it is taken to age
    # when full as lithium iron phosphate does, and gains nothing by our not knowing
    ages_when_full="naumann",
    cycle_exponent=1.2,
    calendar_activation_j_per_mol=45_000.0,  # from memory
    calendar_halving_k=None,
    absorption_v=3.95,  # from memory: packs of four cells are charged at 15.6 to 16.0 V
    float_v=3.60,
    specific_energy_wh_per_kg=Datum(95.0, TRADE),
    energy_wh_per_l=Datum(140.0, TRADE),
    highest_rate_c=Datum(3.0, TRADE),
    deepest_depth=None,
    specific_heat_j_per_kg_k=Datum(1000.0, MEMORY),
    max_series_voltage_v=Datum(48.0, TRADE),
    max_parallel=Datum(4.0, TRADE),
)

SODIUM = (_SODIUM,)
