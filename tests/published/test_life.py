"""The simulated years against published ageing: what a store of known conditions loses."""

from collections.abc import Callable

import numpy as np
import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.case import Case, specify
from tco.life.hourly import open_hours
from tco.life.kernel import run_years
from tco.life.records import BANK, HOUR, RESULT, Rules, Tables
from tco.life.stress import CHARGE_GRID, TABLE_DEGC, stress_of
from tco.life.year import bank_record
from tco.physics.ageing import NAUMANN_CALENDAR_RATE_PER_SQRT_S

NAUMANN_2018_LOSS = [
    # degC, state of charge, years, fraction lost
    (25.0, 0.5, 1, 0.042516),
    (25.0, 0.5, 10, 0.134447),
    (25.0, 1.0, 1, 0.067731),
    (40.0, 0.5, 10, 0.187187),
]
"""Evaluated from the published equation and constants: Naumann, Schimpe, Keil, Hesse, Jossen, J.
Energy Storage 17 (2018) 153-169, doi 10.1016/j.est.2018.01.019. Six digits printed."""


@pytest.mark.parametrize(("degc", "charge", "years", "lost"), NAUMANN_2018_LOSS)
def test_a_stored_lfp_bank_loses_what_naumann_measured(
    plain_case: Callable[..., Case], degc: float, charge: float, years: int, lost: float
) -> None:
    pack = specify(plain_case(candidate={"self_discharge_per_month": 0.0}).candidates[0])
    stress = stress_of(pack, credibility=0.8)
    record = np.zeros(1, dtype=BANK)
    record[0] = bank_record(Bank(Arrangement(pack, 1, 1)), health=1.0, stress=stress)
    record["resistance_ohm"] = 0.0  # or the drain to the storage charge ends a little lower
    hourly = np.zeros(8760, dtype=HOUR)
    hourly["space_degc"] = degc
    hourly["laid_up"] = 1
    charges, degcs = np.empty(8760), np.empty(8760)
    out = np.zeros(1, dtype=RESULT)
    tables = Tables(
        capacity=np.ones((1, TABLE_DEGC.size)),
        resistance=np.ones((1, TABLE_DEGC.size)),
        calendar=stress.calendar[None, :],
        voltage=np.ones((1, CHARGE_GRID.size)),
        storage=stress.storage[None, :],
        cycle=stress.cycle[None, :],
    )
    rules = Rules(0.0, 1.0, charge, 4.0)
    run_years(
        record[0], tables, 0, open_hours(hourly, rules), rules, charges, degcs, np.empty((0, 2)),
        out[0], np.empty(12), np.empty(12),
    )  # fmt: skip
    assert charges == pytest.approx(np.full(8760, charge))
    got = stress.loss(years * out["calendar_stress"], np.zeros(1))[0]
    # the tables by temperature and charge are exact at these conditions: the six digits hold
    assert got == pytest.approx(lost, rel=2e-5)
    assert out["cycle_stress"][0] == 0.0


def test_the_constant_is_the_papers() -> None:
    assert NAUMANN_CALENDAR_RATE_PER_SQRT_S == 1.2571e-5


TRADE_FLOAT_LIFE = [(25.0, 10.0), (33.0, 5.0), (41.0, 2.5)]
"""Years of a lead-acid battery rated 10 years at 25 degC: a trade handbook's table; the rule of
8 degC is IEEE 450 and 1188 practice (from memory)."""


@pytest.mark.parametrize(("degc", "years"), TRADE_FLOAT_LIFE)
def test_lead_acid_float_life_by_temperature(
    plain_case: Callable[..., Case], degc: float, years: float
) -> None:
    candidate = {"chemistry": "agm", "nominal_voltage_v": 12.0, "mass_kg": 40.0}
    pack = specify(plain_case(candidate={**candidate, "calendar_life_years": 10.0}).candidates[0])
    stress = stress_of(pack, credibility=1.0)
    per_hour = np.interp(degc, TABLE_DEGC, stress.calendar)
    lost = stress.loss(np.array([per_hour * 8760.0 * years]), np.zeros(1))[0]
    assert lost == pytest.approx(1.0 - pack.end_of_life, rel=1e-9)
