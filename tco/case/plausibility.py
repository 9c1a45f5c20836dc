"""Claims of a candidate, and prices, that are worth a second look before money is spent on them.

Nothing here refuses a candidate or a price: a doubt is a sentence beside it. All thresholds
are common practice, no source, and stand below or with the chemistry.
"""

import statistics
from collections.abc import Sequence

from tco.case.candidate import Candidate, is_bare_cell
from tco.case.case import Case
from tco.case.odd_values import Doubt, odd_values
from tco.case.prices import Prices
from tco.physics.chemistry import CHEMISTRIES
from tco.sentences import degc, mm, says

DENSITY_RATIO = 1.6
"""Wh/kg may differ from the chemistry's usual by this factor, either way."""
VOLUME_RATIO = 1.9
"""Wh/L may differ from the usual by this factor: cases vary more than cells."""
CELL_KG_RATIO, CELL_L_RATIO = 1.45, 1.9
"""A bare cell stores so much more in a kilogram and in a litre than a pack of its chemistry: 165 to
180 Wh/kg and 340 to 400 Wh/L of LFP (from memory)."""
CYCLES_RATIO = 2.0
"""Rated cycles above this multiple of the chemistry's usual, at the same depth, are doubted."""
SHORTEST_SIDE_MM, LONGEST_SIDE_MM = 40.0, 1200.0
"""A side outside this range hints at centimetres or inches typed as millimetres, or the reverse."""
SHORTEST_CELL_SIDE_MM = 10.0
"""The same of a bare cell."""
PRICE_RATIO = 2.0
"""Price per kWh may differ from the median of the others of its family by this factor."""
FEWEST_TO_COMPARE = 3
LEAST_SHORT_CIRCUIT = 0.5
"""A short-circuit current below this share of what the usual resistance, which is rather high,
would let through is doubted."""


_Found = tuple[str, str]
"""The field a doubt is about, and its sentence."""


def case_doubts(case: Case) -> tuple[Doubt, ...]:
    """Every doubt about a case, each with its place: odd numbers, claims of packs, prices.

    A candidate that is left out for now is not compared with the others, but looked at itself.
    """
    found = list(odd_values(case))
    compared = price_doubts(case.considered().candidates)
    for place, candidate in enumerate(case.candidates):
        found += [
            Doubt(("candidates", place, field), sentence)
            for field, sentence in _located_doubts(candidate)
        ]
        if candidate.name in compared and candidate.price > 0.0:
            found.append(Doubt(("candidates", place, "price"), compared[candidate.name]))
    found += [
        Doubt(("prices", "hour_without_power_price"), sentence)
        for sentence in double_price_doubts(case.prices)
    ]
    return tuple(found)


def doubts(candidate: Candidate) -> tuple[str, ...]:
    """Sentences about optimistic or odd claims of one candidate; empty where there are none.

    Only stated values are judged, never defaults. Energies in Wh, sides in mm, currents in A.
    """
    return tuple(sentence for _, sentence in _located_doubts(candidate))


def _located_doubts(candidate: Candidate) -> tuple[_Found, ...]:
    return (
        *_cell_doubts(candidate),
        *_density_doubts(candidate),
        *_side_doubts(candidate),
        *_life_doubts(candidate),
        *_current_doubts(candidate),
        *_short_circuit_doubts(candidate),
        *_cold_doubts(candidate),
    )


def _cell_doubts(candidate: Candidate) -> list[_Found]:
    if candidate.bare_cell is not None or not is_bare_cell(candidate):
        return []
    sentence = (
        f"{candidate.nominal_voltage_v:g} V is one cell: it is taken for a bare cell, which needs "
        "a management unit and something to hold it. Say yes or no under Bare cell."
    )
    return [("bare_cell", sentence)]


def _density_doubts(candidate: Candidate) -> list[_Found]:
    chemistry, bare = CHEMISTRIES[candidate.chemistry], is_bare_cell(candidate)
    found: list[_Found] = []
    if candidate.mass_kg is not None:
        usual = chemistry.specific_energy_wh_per_kg.value * (CELL_KG_RATIO if bare else 1.0)
        found += _ratio_doubt(
            candidate.energy_wh / candidate.mass_kg, usual, "Wh/kg", DENSITY_RATIO, chemistry.name
        )
    if (
        candidate.width_mm is not None
        and candidate.depth_mm is not None
        and candidate.height_mm is not None
    ):
        litres = candidate.width_mm * candidate.depth_mm * candidate.height_mm / 1e6
        usual = chemistry.energy_wh_per_l.value * (CELL_L_RATIO if bare else 1.0)
        found += _ratio_doubt(
            candidate.energy_wh / litres, usual, "Wh/L", VOLUME_RATIO, chemistry.name
        )
    return found


def _ratio_doubt(value: float, usual: float, unit: str, ratio: float, name: str) -> list[_Found]:
    field = "mass_kg" if unit == "Wh/kg" else "width_mm"
    measure = "mass" if unit == "Wh/kg" else "size"
    if value > ratio * usual:
        sentence = (
            f"{value:.0f} {unit} is far above the usual {usual:.0f} of {name}: the {measure} may "
            "be of the cells alone, or the capacity optimistic."
        )
        return [(field, sentence)]
    if value < usual / ratio:
        sentence = (
            f"{value:.0f} {unit} is far below the usual {usual:.0f} of {name}: check the "
            f"{measure}, its unit, and whether the capacity is that of the whole pack."
        )
        return [(field, sentence)]
    return []


def _side_doubts(candidate: Candidate) -> list[_Found]:
    found: list[_Found] = []
    for name in ("width_mm", "depth_mm", "height_mm"):
        side: float | None = getattr(candidate, name)
        shortest = SHORTEST_CELL_SIDE_MM if is_bare_cell(candidate) else SHORTEST_SIDE_MM
        if side is not None and not shortest <= side <= LONGEST_SIDE_MM:
            word = name.removesuffix("_mm")
            said = says(
                f"A {word} of ", mm(side, "g"), " is unusual for a pack: is it in another unit?"
            )
            found.append((name, said))
    return found


def _life_doubts(candidate: Candidate) -> list[_Found]:
    chemistry = CHEMISTRIES[candidate.chemistry]
    found: list[_Found] = []
    if candidate.rated_cycles is not None:
        depth = candidate.rated_depth or chemistry.rated_depth.value
        usual = (
            chemistry.rated_cycles.value
            * (depth / chemistry.rated_depth.value) ** -chemistry.cycle_exponent
        )
        if candidate.rated_cycles > CYCLES_RATIO * usual:
            said = (
                f"{candidate.rated_cycles:g} cycles at {100 * depth:.0f} % depth is more than "
                f"{CYCLES_RATIO:g} times the {usual:.0f} usual for {chemistry.name}: ask to which "
                "remaining health, at which current and temperature."
            )
            found.append(("rated_cycles", said))
        if candidate.rated_depth is None:
            said = f"{candidate.rated_cycles:g} cycles are claimed without the depth they hold for."
            found.append(("rated_depth", said))
    if candidate.usable_depth == 1.0:
        said = (
            "A usable depth of 100 % leaves nothing in hand: the last tenth ages the pack most and "
            "the management may switch off without warning."
        )
        found.append(("usable_depth", said))
    elif (
        chemistry.deepest_depth is not None
        and (candidate.usable_depth or 0.0) > chemistry.deepest_depth.value
    ):
        share = chemistry.usable_depth.value
        usually = "half" if share == 0.5 else f"{100 * share:.0f} %"
        said = (
            f"Drawing {100 * (candidate.usable_depth or 0.0):.0f} % from {chemistry.name} shortens "
            f"its life sharply; {usually} is usual."
        )
        found.append(("usable_depth", said))
    return found


def _short_circuit_doubts(candidate: Candidate) -> list[_Found]:
    """A short-circuit current too small for the cells: rather the board's threshold."""
    chemistry, stated_a = CHEMISTRIES[candidate.chemistry], candidate.short_circuit_a
    usual_a = chemistry.cell_voltage_v * candidate.capacity_ah / chemistry.resistance_ohm_ah.value
    if stated_a is None or stated_a >= LEAST_SHORT_CIRCUIT * usual_a:
        return []
    sentence = (
        f"A short-circuit current of {stated_a:,.0f} A is little for {candidate.capacity_ah:g} Ah "
        f"of {chemistry.name}: the threshold at which a board trips is not what a dead short "
        "draws, and fuses are chosen by it. Leave it out where the maker states no such current."
    )
    return [("short_circuit_a", sentence)]


def _current_doubts(candidate: Candidate) -> list[_Found]:
    chemistry = CHEMISTRIES[candidate.chemistry]
    highest = chemistry.highest_rate_c.value
    current = candidate.continuous_discharge_a
    if current is None or current <= highest * candidate.capacity_ah:
        return []
    sentence = (
        f"{current:g} A continuous is {current / candidate.capacity_ah:.1f} C, above the "
        f"{highest:g} C that {chemistry.name} packs carry: "
        "it may be the peak current."
    )
    return [("continuous_discharge_a", sentence)]


def _cold_doubts(candidate: Candidate) -> list[_Found]:
    chemistry = CHEMISTRIES[candidate.chemistry]
    if not chemistry.plates_when_cold:
        return []
    found: list[_Found] = []
    if not is_bare_cell(candidate) and not candidate.low_temperature_cutoff:
        said = "has no" if candidate.low_temperature_cutoff is False else "mentions no"
        sentence = (
            f"The pack {said} low-temperature charge cut-off: charging below its limit damages "
            f"{chemistry.family_name} cells for good and can make them unsafe. Follow the maker's "
            "instructions."
        )
        found.append(("low_temperature_cutoff", sentence))
    usual_degc = chemistry.charge_min_degc.value
    stated_degc = candidate.charge_min_degc
    if stated_degc is not None and stated_degc < usual_degc and not candidate.heater_w:
        told = says(
            "Charging from ",
            degc(stated_degc, "g"),
            " without a heater is below the usual ",
            degc(usual_degc, "g"),
            f" of {chemistry.name}: check that it is not the discharge limit.",
        )
        found.append(("charge_min_degc", told))
    return found


def price_doubts(candidates: Sequence[Candidate]) -> dict[str, str]:
    """Candidates whose price per kWh is strange among the others of the same family.

    Returns
    -------
    dict
        Candidate name to a sentence; candidates without doubt are not in it. A candidate is
        compared with the median of the other ones (lithium, sodium and lead apart, and bare cells
        from packs), where there are at least `FEWEST_TO_COMPARE` of them.
    """
    families: dict[tuple[str, bool], list[Candidate]] = {}
    for candidate in candidates:
        alike = CHEMISTRIES[candidate.chemistry].family, is_bare_cell(candidate)
        families.setdefault(alike, []).append(candidate)
    found: dict[str, str] = {}
    for (family, bare), members in families.items():
        prices = [1000.0 * member.price / member.energy_wh for member in members]
        for index, (member, price) in enumerate(zip(members, prices, strict=True)):
            others = prices[:index] + prices[index + 1 :]
            if len(others) < FEWEST_TO_COMPARE:
                continue
            median = statistics.median(others)
            if price < median / PRICE_RATIO:
                word, ask = "below", "ask for test reports, and what the warranty covers"
            elif price > median * PRICE_RATIO:
                word, ask = "above", "check the price, the volts and the Ah"
            else:
                continue
            found[member.name] = (
                f"{price:.0f} per kWh is far {word} the {median:.0f} of the other {family} "
                f"{'cells' if bare else 'packs'} "
                f"here: {ask}."
            )
    return found


def double_price_doubts(prices: Prices) -> tuple[str, ...]:
    """A sentence where a day and an hour without power both have a price: both are charged."""
    a_day, an_hour = prices.day_without_power_price, prices.hour_without_power_price
    if a_day == 0.0 or an_hour == 0.0:
        return ()
    whole = a_day + 24.0 * an_hour
    return (
        f"A day without power costs {a_day:,.2f} and an hour {an_hour:,.2f} on top of it: a whole "
        f"dark day costs {whole:,.2f}, and failures of packs are priced so too. If you mean one or "
        "the other, set one of the two prices to 0.",
    )
