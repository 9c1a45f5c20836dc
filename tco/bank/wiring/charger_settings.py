"""What to set anew on every charger for an arrangement."""

from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charger_current_a, charger_suits, takes_a
from tco.case import Case
from tco.case.use import Solar
from tco.sentences import degc, says

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Setting:
    """One thing to set anew on a charger, or to add to it."""

    charger: str
    setting: str
    value: str
    reason: str


def charger_settings(
    case: Case, arrangement: Arrangement, unevenness: float = 1.0
) -> tuple[Setting, ...]:
    """Settings of every charger that stays or is replaced, with the reason for each.

    Voltages are the chemistry's usual ones (common practice); the maker's figures go first.
    `unevenness`: current of the hardest-worked string over an equal share.
    """
    chemistry = arrangement.pack.chemistry
    cells = arrangement.series * arrangement.pack.cells_in_series
    absorption = arrangement.charging_voltage_v
    float_v = min(cells * chemistry.float_v, absorption)
    most_a = takes_a(arrangement, unevenness)
    found: list[Setting] = []
    for charger in case.sources.chargers():
        suits = charger_suits(charger, arrangement)
        if not suits and charger.replacement_price is None:
            continue  # it cannot be set to it; screening says so
        name = charger.name if suits else f"what replaces {charger.name}"
        usual = f"usual for {chemistry.name}; the maker's figure goes first"
        told = usual if "charge_voltage_v" in arrangement.pack.assumed else "as the maker states"
        found += [
            Setting(name, "absorption voltage", f"{absorption:.1f} V", told),
            Setting(name, "float voltage", f"{float_v:.1f} V", usual),
        ]
        gives_a = charger_current_a(case, charger)
        if gives_a > most_a + _ROUNDING and (
            charger.current_adjustable or isinstance(charger, Solar)
        ):
            found.append(
                Setting(
                    name,
                    "charge current",
                    f"at most {most_a:.0f} A",
                    f"it gives up to {gives_a:.0f} A, more than the packs take",
                )
            )
        by_warmth, why = (
            ("on", f"{chemistry.family_name} takes less when warm")
            if chemistry.temperature_compensation
            else ("off", "it would overcharge a cold pack")
        )
        found.append(Setting(name, "temperature compensation", by_warmth, why))
        if chemistry.cell_management:
            harm = "its voltage makes the pack disconnect, or harms it"
            found.append(Setting(name, "equalise", "off", harm))
        if chemistry.cold_charge_cutoff:
            coldest = says(degc(arrangement.pack.charge_min_degc, "g"))
            bars = (
                "; the pack also bars it by itself"
                if arrangement.pack.low_temperature_cutoff
                else ", and the pack does not bar it by itself"
            )
            found.append(
                Setting(
                    name,
                    "low-temperature limit",
                    coldest,
                    says("no charging below ", coldest, bars),
                )
            )
    return tuple(found)
