"""Synthetic weather against published distributions and against real years.

"D&B" is Duffie and Beckman, Solar Engineering of Thermal Processes, 4th edition. The real years
are the typical meteorological years that ship with pvlib: Sand Point (Alaska), Greensboro (North
Carolina) and Miami (Florida), public data of the US National Renewable Energy Laboratory.
"""

from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np
import pvlib
import pytest

from tco.physics import sun
from tco.physics.weather import (
    MONTH_LENGTHS,
    clearest_day,
    clearness_gamma,
    clearness_quantile,
    synthetic_weather,
)

DAYS = np.arange(1, 366)
MONTH = np.repeat(np.arange(12), MONTH_LENGTHS)
YEARS = 20

BENDT = np.array(
    # Evaluated from the published formula (Bendt, Collares-Pereira and Rabl, Solar Energy 27
    # (1981) 1-5, as D&B section 2.9 prints it), not by this project's code.
    # Kbar, g, standard deviation, 10 % quantile, F(0.3)
    [
        [0.3, -2.1252, 0.1770, 0.0864, 0.5539],
        [0.5, 2.2720, 0.1936, 0.2003, 0.1878],
        [0.7, 8.3725, 0.1154, 0.5449, 0.0115],
    ]
)


def test_bendt_exponent_spread_and_quantiles():
    """Half a unit of the last digit; quantiles integrated numerically over 200,001 points."""
    mean, gamma, deviation, tenth, below = BENDT.T
    solved, clearest = clearness_gamma(mean), clearest_day(mean)
    np.testing.assert_allclose(solved, gamma, atol=0.00005)
    share = np.linspace(0.0, 1.0, 200_001)[:, None]
    drawn = clearness_quantile(share, solved, clearest)
    np.testing.assert_allclose(np.trapezoid(drawn, share, axis=0), mean, atol=1e-6)
    spread = np.sqrt(np.trapezoid((drawn - mean) ** 2, share, axis=0))
    np.testing.assert_allclose(spread, deviation, atol=0.0001)
    np.testing.assert_allclose(
        clearness_quantile(np.full(3, 0.1), solved, clearest), tenth, atol=0.0001
    )
    np.testing.assert_allclose((drawn < 0.3).mean(axis=0), below, atol=0.0001)


def test_herzogs_explicit_exponent_is_near_the_exact_one():
    """Herzog's fit (D&B eq. 2.9.5, from memory) replaces the solution for g; 0.05 apart at most.

    It is an approximation by itself; the tolerance is what its author's fit can claim.
    """
    mean = np.array([0.3, 0.4, 0.5, 0.6])
    top = 0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8
    xi = (top - 0.05) / (top - mean)
    herzog = -1.498 + (1.184 * xi - 27.182 * np.exp(-1.5 * xi)) / (top - 0.05)
    np.testing.assert_allclose(clearness_gamma(mean), herzog, atol=0.05)


@dataclass(frozen=True)
class Site:
    latitude_deg: float
    clearness: np.ndarray  # by day
    temperature: np.ndarray  # (365, 24)
    light_wh: np.ndarray  # by day


def by_month(daily: np.ndarray) -> np.ndarray:
    return np.bincount(np.tile(MONTH, len(daily) // 365), daily) / (
        MONTH_LENGTHS * (len(daily) // 365)
    )


def read(name: str) -> Site:
    path = Path(pvlib.__file__).parent / "data" / name
    if name.endswith("tm2"):
        data, meta = pvlib.iotools.read_tmy2(path)
        light, temperature = data["GHI"], data["DryBulb"] / 10.0
    else:
        data, meta = pvlib.iotools.read_tmy3(path, map_variables=True)
        light, temperature = data["ghi"], data["temp_air"]
    daily = light.to_numpy(dtype=float).reshape(365, 24).sum(axis=1)
    latitude = float(meta["latitude"])
    return Site(
        latitude_deg=latitude,
        clearness=daily / sun.extraterrestrial_daily_wh_per_m2(latitude, DAYS),
        temperature=temperature.to_numpy(dtype=float).reshape(365, 24),
        light_wh=daily,
    )


@pytest.fixture(
    scope="module",
    params=product(["703165TY.csv", "723170TYA.CSV", "12839.tm2"], [True, False]),
    ids=lambda param: f"{param[0]}-{'lasting' if param[1] else 'short'}",
)
def pair(request: pytest.FixtureRequest) -> tuple[Site, Site]:
    """A real year, and twenty synthetic years from its twelve monthly values, of both kinds."""
    name, lasting = request.param
    real = read(name)
    made = synthetic_weather(
        latitude_deg=real.latitude_deg,
        mean_degc=by_month(real.temperature.mean(axis=1)),
        min_degc=by_month(real.temperature.min(axis=1)),
        max_degc=by_month(real.temperature.max(axis=1)),
        irradiation_kwh_per_m2_day=by_month(real.light_wh) / 1000.0,
        years=YEARS,
        seed=5,
        lasting=lasting,
    )
    light = made.ghi_w_per_m2.reshape(-1, 24).sum(axis=1)
    outside = sun.extraterrestrial_daily_wh_per_m2(real.latitude_deg, DAYS)
    return real, Site(
        latitude_deg=real.latitude_deg,
        clearness=light / np.tile(outside, YEARS),
        temperature=made.temperature_degc.reshape(-1, 24),
        light_wh=light,
    )


def clearness_lag_one(site: Site) -> float:
    """Lag-1 autocorrelation of daily clearness standardised by month, pairs within a month."""
    month = np.tile(MONTH, len(site.clearness) // 365)
    days = np.bincount(month)
    stray = site.clearness - by_month(site.clearness)[month]
    stray = stray / np.sqrt(np.bincount(month, stray**2) / days)[month]
    same = month[1:] == month[:-1]
    return float((stray[1:] * stray[:-1])[same].mean())


def temperature_lag_one(site: Site) -> float:
    """Lag-1 autocorrelation of daily means about three yearly harmonics."""
    daily = site.temperature.mean(axis=1)
    angle = 2.0 * np.pi * np.arange(len(daily)) / 365.0
    waves = np.stack(
        [np.ones_like(angle), *(f(k * angle) for k in (1, 2, 3) for f in (np.cos, np.sin))], axis=1
    )
    stray = daily - waves @ np.linalg.lstsq(waves, daily)[0]
    return float(np.corrcoef(stray[1:], stray[:-1])[0, 1])


def worst_fortnight(site: Site) -> float:
    """Lowest 14-day mean clearness over that of its months, averaged over the years."""
    month = np.tile(MONTH, len(site.clearness) // 365)
    relative = (site.clearness / by_month(site.clearness)[month]).reshape(-1, 365)
    return float(
        np.mean([np.convolve(year, np.full(14, 1 / 14), "valid").min() for year in relative])
    )


def test_the_monthly_values_of_a_real_site_come_back(pair):
    """0.1 % and 0.05 K: they are brought back exactly but for daylight of dark mid-hours."""
    real, made = pair
    np.testing.assert_allclose(by_month(made.light_wh), by_month(real.light_wh), rtol=0.001)
    np.testing.assert_allclose(
        by_month(made.temperature.mean(axis=1)),
        by_month(real.temperature.mean(axis=1)),
        atol=0.05,
    )


def test_dull_days_persist_as_published(pair):
    """Graham, Hollands and Unny (1988): 0.29 in the Gaussian index, some 0.27 in K itself.

    Twenty years are 7,300 days: a standard error of 0.012, so 0.04 is three of them.
    """
    _, made = pair
    assert clearness_lag_one(made) == pytest.approx(0.27, abs=0.04)


def test_dull_days_persist_as_in_real_years(pair):
    """A single year of 365 days has a standard error of 0.05 on its own lag-1: two of them."""
    real, made = pair
    assert clearness_lag_one(made) == pytest.approx(clearness_lag_one(real), abs=0.10)


def test_cold_days_persist_as_published(pair):
    """Richardson and Wright, WGEN (1984), lag-1 of daily maximum and minimum 0.62 to 0.67.

    Daily means about a fitted course, with the passage at midnight, may exceed that by 0.02, and
    the standard error of twenty years is 0.009: 0.61 to 0.70.
    """
    _, made = pair
    assert 0.61 < temperature_lag_one(made) < 0.70


def test_cold_days_persist_as_in_real_years(pair):
    """A real year's own lag-1 has a standard error of 0.04, and sites differ from 0.6 to 0.8."""
    real, made = pair
    assert temperature_lag_one(made) == pytest.approx(temperature_lag_one(real), abs=0.17)


def test_worst_fortnights_are_no_milder_than_real_ones_and_not_absurd(pair):
    """Typical years are chosen month by month to be typical, so their worst is mild.

    The synthetic worst must be at least as deep, and not so deep that it would be another
    climate: within 0.3 of the mean.
    """
    real, made = pair
    assert worst_fortnight(made) < worst_fortnight(real)
    assert worst_fortnight(made) > worst_fortnight(real) - 0.3


def test_bendts_spread_is_wider_than_these_years_but_not_twice(pair):
    """A known limit: Bendt's distribution is wider than these three years, by up to 1.7 times."""
    real, made = pair

    def spread(site: Site) -> float:
        month = np.tile(MONTH, len(site.clearness) // 365)
        return float(np.sqrt(np.mean((site.clearness - by_month(site.clearness)[month]) ** 2)))

    assert 1.0 < spread(made) / spread(real) < 1.7


def test_the_worked_exponent_rejects_what_was_never_fitted():
    with pytest.raises(ValueError, match="monthly clearness"):
        clearness_gamma(np.array([0.5, 0.9]))


MID_LATITUDE = {
    "latitude_deg": 52.0,
    "mean_degc": [3.0, 3.5, 6.0, 9.0, 13.0, 16.0, 18.0, 18.0, 14.5, 11.0, 6.5, 4.0],
    "min_degc": [0.0, 0.0, 2.0, 4.0, 8.0, 11.0, 13.0, 13.0, 10.0, 7.0, 3.0, 1.0],
    "max_degc": [6.0, 7.0, 10.0, 14.0, 18.0, 21.0, 23.0, 23.0, 19.0, 14.0, 9.5, 6.5],
    "irradiation_kwh_per_m2_day": [0.7, 1.3, 2.5, 3.9, 4.9, 5.2, 5.0, 4.2, 3.0, 1.7, 0.9, 0.55],
}


def year_to_year(*, lasting: bool) -> tuple[np.ndarray, float, np.ndarray]:
    """Coefficients of variation of monthly and of yearly light, deviation of monthly means [K].

    A lowland of the European north-west, typed; ten seeds of twenty years each.
    """
    light, whole, degc = [], [], []
    for seed in range(10):
        made = synthetic_weather(
            **MID_LATITUDE, years=YEARS, seed=seed, clearness_spread=0.8, lasting=lasting
        )
        by_day = made.ghi_w_per_m2.reshape(YEARS, 365, 24).sum(axis=2)
        mean = made.temperature_degc.reshape(YEARS, 365, 24).mean(axis=2)
        months = np.stack([by_day[:, k == MONTH].mean(axis=1) for k in range(12)], axis=1)
        light.append(months.var(axis=0, ddof=1) / months.mean(axis=0) ** 2)
        whole.append(by_day.sum(axis=1).var(ddof=1) / by_day.sum(axis=1).mean() ** 2)
        kelvin = np.stack([mean[:, k == MONTH].mean(axis=1) for k in range(12)], axis=1)
        degc.append(kelvin.var(axis=0, ddof=1))
    return (
        np.sqrt(np.mean(light, axis=0)),
        float(np.sqrt(np.mean(whole))),
        np.sqrt(np.mean(degc, axis=0)),
    )


def test_years_differ_as_real_ones_do():
    """Standard deviations from year to year at mid latitudes, all from memory.

    Light of a winter month 10 to 15 %, of a year 3 to 5 %; mean temperature of a month 1.5 to 2 K
    (more in winter, less in summer; the synthetic years have one value for all months, which may
    stray by its own standard error of 5 %). Ranges are memory's, so none is narrowed further.
    """
    light, whole, degc = year_to_year(lasting=True)
    winter = light[[11, 0, 1]]
    assert 0.10 < winter.mean() < 0.15
    assert 0.03 < whole < 0.05
    assert 1.5 < degc.mean() < 2.0
    without, whole_without, degc_without = year_to_year(lasting=False)
    assert light.mean() > 1.2 * without.mean()
    assert whole > 1.4 * whole_without
    assert degc.mean() > 1.15 * degc_without.mean()
