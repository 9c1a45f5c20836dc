"""Synthetic years: what was typed comes back, the runs are there, nonsense is refused."""

import numpy as np
import pytest

from tco.physics import sun
from tco.physics.weather import (
    MONTH_LENGTHS,
    HourlyWeather,
    clearest_day,
    clearness_gamma,
    clearness_quantile,
    plane_of_array,
    synthetic_weather,
)

UPLAND = {
    "latitude_deg": 54.0,
    "mean_degc": [2.1, 2.3, 4.2, 6.5, 9.8, 12.6, 14.4, 14.0, 11.6, 8.3, 4.8, 2.7],
    "min_degc": [-1.0, -1.2, 0.3, 1.8, 4.6, 7.6, 9.8, 9.6, 7.4, 4.9, 1.9, -0.3],
    "max_degc": [4.8, 5.4, 8.0, 11.3, 15.1, 17.6, 19.3, 18.6, 15.8, 11.6, 7.6, 5.4],
    "irradiation_kwh_per_m2_day": [0.5, 1.1, 2.1, 3.5, 4.5, 4.7, 4.5, 3.7, 2.6, 1.4, 0.7, 0.4],
}
SOUTHERN = {
    "latitude_deg": -42.0,
    "mean_degc": [17, 17, 15, 12, 10, 8, 7, 8, 10, 12, 14, 16],
    "min_degc": [12, 12, 11, 8, 6, 4, 3, 4, 5, 7, 9, 11],
    "max_degc": [22, 22, 20, 17, 14, 12, 11, 13, 15, 17, 19, 20],
    "irradiation_kwh_per_m2_day": [6.6, 5.8, 4.3, 2.9, 1.8, 1.4, 1.6, 2.4, 3.6, 4.9, 6.0, 6.6],
}
POLAR = {
    "latitude_deg": 75.0,
    "mean_degc": [-16, -17, -16, -12, -4, 2, 6, 5, 1, -6, -11, -14],
    "min_degc": [-20, -21, -20, -16, -7, 0, 3, 3, -2, -9, -14, -18],
    "max_degc": [-12, -13, -12, -8, -1, 5, 9, 8, 4, -3, -8, -10],
    "irradiation_kwh_per_m2_day": [0, 0.1, 1.4, 3.9, 6.2, 6.4, 5.0, 3.0, 1.3, 0.3, 0.0, 0.0],
}


def by_month(weather: HourlyWeather, hourly: np.ndarray) -> np.ndarray:
    return np.bincount(weather.month_index, hourly) / np.bincount(weather.month_index)


def changed(site: dict, **changes: object) -> dict:
    return site | changes


@pytest.mark.parametrize("site", [UPLAND, SOUTHERN, POLAR], ids=["upland", "southern", "polar"])
@pytest.mark.parametrize("seed", [0, 1, 2, 3, 99])
@pytest.mark.parametrize("years", [1, 4])
def test_the_monthly_means_come_back(site, seed, years):
    """Within 2 % and 0.3 K is the promise."""
    weather = synthetic_weather(**site, years=years, seed=seed)
    light = by_month(weather, weather.ghi_w_per_m2) * 0.024
    np.testing.assert_allclose(light, site["irradiation_kwh_per_m2_day"], rtol=0.02, atol=1e-3)
    temperature = by_month(weather, weather.temperature_degc)
    np.testing.assert_allclose(temperature, site["mean_degc"], atol=0.3)


@pytest.mark.parametrize("site", [UPLAND, SOUTHERN])
def test_mean_daily_minimum_and_maximum_come_back(site):
    """Within half a kelvin: daily extremes fall between mid-hours and residuals pass midnight."""
    weather = synthetic_weather(**site, years=8, seed=4)
    daily = weather.temperature_degc.reshape(-1, 24)
    month = weather.month_index[::24]
    days = np.bincount(month)
    np.testing.assert_allclose(
        np.bincount(month, daily.min(axis=1)) / days, site["min_degc"], atol=0.5
    )
    np.testing.assert_allclose(
        np.bincount(month, daily.max(axis=1)) / days, site["max_degc"], atol=0.5
    )


def test_warmest_at_three_and_coldest_about_sunrise():
    weather = synthetic_weather(**UPLAND, years=1, seed=0, daily_sd_degc=0.0)
    daily = weather.temperature_degc.reshape(365, 24)
    assert set(daily.argmax(axis=1)) <= {14, 15}
    sunrise = 12.0 - np.degrees(sun.sunset_hour_angle_rad(54.0, np.arange(1, 366))) / 15.0
    assert np.all(np.abs(daily.argmin(axis=1) + 0.5 - np.clip(sunrise, 3.0, 9.0)) <= 1.0)


def test_the_average_year_is_smooth():
    """No jump from hour to hour larger than the steepest part of a daily wave allows."""
    weather = synthetic_weather(**UPLAND, years=2, seed=0, daily_sd_degc=0.0)
    means = weather.temperature_degc.reshape(-1, 24).mean(axis=1)
    assert np.abs(np.diff(means)).max() < 0.25
    swings = np.array(UPLAND["max_degc"]) - np.array(UPLAND["min_degc"])
    assert np.abs(np.diff(weather.temperature_degc)).max() < swings.max() * 0.35


def test_no_jump_at_midnight_from_the_daily_residuals():
    weather = synthetic_weather(**UPLAND, years=20, seed=2)
    steps = np.abs(np.diff(weather.temperature_degc))
    at_midnight = steps[23::24]
    daily = np.abs(np.diff(weather.temperature_degc.reshape(-1, 24).mean(axis=1)))
    assert at_midnight.mean() < 0.6 * daily.mean()


def test_the_same_seed_gives_the_same_bytes_and_years_differ():
    first = synthetic_weather(**UPLAND, years=3, seed=11)
    again = synthetic_weather(**UPLAND, years=3, seed=11)
    other = synthetic_weather(**UPLAND, years=3, seed=12)
    for name in ("temperature_degc", "ghi_w_per_m2", "dni_w_per_m2", "dhi_w_per_m2"):
        assert getattr(first, name).tobytes() == getattr(again, name).tobytes()
        assert getattr(first, name).tobytes() != getattr(other, name).tobytes()
        one, two, three = getattr(first, name).reshape(3, -1)
        assert not np.array_equal(one, two)
        assert not np.array_equal(two, three)


def test_shapes_and_calendar():
    weather = synthetic_weather(**UPLAND, years=2, seed=0)
    for name in ("temperature_degc", "ghi_w_per_m2", "dni_w_per_m2", "dhi_w_per_m2"):
        assert getattr(weather, name).shape == (17520,)
        assert getattr(weather, name).dtype == np.float64
    assert weather.day_of_year[0] == weather.day_of_year[8760] == 1
    assert weather.day_of_year[8759] == 365
    np.testing.assert_array_equal(np.bincount(weather.month_index), MONTH_LENGTHS * 48)


@pytest.mark.parametrize("site", [UPLAND, SOUTHERN, POLAR], ids=["upland", "southern", "polar"])
def test_light_is_physical(site):
    weather = synthetic_weather(**site, years=3, seed=8)
    day, hour = weather.day_of_year, np.tile(np.arange(24), 3 * 365)
    outside = sun.extraterrestrial_hourly_w_per_m2(site["latitude_deg"], day, hour)
    ghi, dni, dhi = weather.ghi_w_per_m2, weather.dni_w_per_m2, weather.dhi_w_per_m2
    assert np.all(np.isfinite(ghi))
    assert np.all(ghi >= 0.0)
    assert np.all(dhi >= 0.0)
    assert np.all(dni >= 0.0)
    assert np.all(ghi <= outside)
    assert np.all(dhi <= ghi + 1e-9)
    assert np.all(dni < 0.85 * sun.extraterrestrial_normal_w_per_m2(day))
    zenith = np.maximum(sun.cos_zenith(site["latitude_deg"], day, hour), 0.0)
    np.testing.assert_allclose(dni * zenith + dhi, ghi, atol=1e-9)


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_a_dull_fortnight_really_occurs(seed):
    """At a clearness of 0.3, in every month, the worst 14 days in six years fall far below.

    Independent days of Bendt's spread (0.177 at 0.3) would have a 14-day mean with a deviation
    of 0.177 / sqrt(14) = 0.047, a sixth of the mean; the persistence of runs makes it about a
    fifth. The lowest of some 150 separate fortnights lies two deviations and more below.
    """
    day = np.arange(1, 366)
    outside = sun.extraterrestrial_daily_wh_per_m2(50.0, day)
    month = np.repeat(np.arange(12), MONTH_LENGTHS)
    typed = 0.3 * np.bincount(month, outside) / MONTH_LENGTHS / 1000.0
    site = changed(UPLAND, latitude_deg=50.0, irradiation_kwh_per_m2_day=typed)
    weather = synthetic_weather(**site, years=6, seed=seed)
    clearness = weather.ghi_w_per_m2.reshape(-1, 24).sum(axis=1) / np.tile(outside, 6)
    fortnights = np.convolve(clearness, np.full(14, 1.0 / 14.0), "valid")
    assert fortnights.min() < 0.65 * 0.3
    assert fortnights.max() > 1.35 * 0.3
    even = synthetic_weather(**site, years=6, seed=seed, clearness_spread=0.0)
    flat = even.ghi_w_per_m2.reshape(-1, 24).sum(axis=1) / np.tile(outside, 6)
    np.testing.assert_allclose(flat, 0.3, rtol=1e-6)


def test_bringing_the_means_back_keeps_the_distribution():
    """Pooled daily indices over many years match Bendt's quantiles (0.015 is sampling)."""
    day = np.arange(1, 366)
    outside = sun.extraterrestrial_daily_wh_per_m2(40.0, day)
    month = np.repeat(np.arange(12), MONTH_LENGTHS)
    typed = 0.5 * np.bincount(month, outside) / MONTH_LENGTHS / 1000.0
    site = changed(UPLAND, latitude_deg=40.0, irradiation_kwh_per_m2_day=typed)
    weather = synthetic_weather(**site, years=40, seed=6)
    clearness = weather.ghi_w_per_m2.reshape(-1, 24).sum(axis=1) / np.tile(outside, 40)
    shares = np.array([0.1, 0.25, 0.5, 0.75, 0.9])
    half = np.array([0.5])
    expected = clearness_quantile(shares, clearness_gamma(half), clearest_day(half))
    np.testing.assert_allclose(np.quantile(clearness, shares), expected, atol=0.015)


def test_a_narrower_spread_keeps_the_mean_and_scales_the_deviation():
    full = synthetic_weather(**UPLAND, years=3, seed=5)
    narrow = synthetic_weather(**UPLAND, years=3, seed=5, clearness_spread=0.5)
    np.testing.assert_allclose(
        by_month(full, full.ghi_w_per_m2), by_month(narrow, narrow.ghi_w_per_m2), rtol=1e-6
    )
    june = full.month_index == 5
    deviation = [w.ghi_w_per_m2[june].reshape(-1, 24).sum(axis=1).std() for w in (full, narrow)]
    assert deviation[1] / deviation[0] == pytest.approx(0.5, abs=0.05)


def test_uniform_where_gamma_is_zero():
    share = np.array([0.0, 0.25, 1.0])
    quantile = clearness_quantile(share, np.zeros(3), np.full(3, 0.65))
    np.testing.assert_allclose(quantile, [0.05, 0.20, 0.65], atol=1e-6)
    near = clearness_quantile(share, np.full(3, 1e-4), np.full(3, 0.65))
    np.testing.assert_allclose(near, quantile, atol=1e-4)


@pytest.mark.parametrize("clearness", [0.849, 0.2, 0.04, 0.0])
def test_the_clearest_and_the_darkest_months_still_solve(clearness):
    outside = sun.extraterrestrial_daily_wh_per_m2(-42.0, np.arange(1, 366))
    month = np.repeat(np.arange(12), MONTH_LENGTHS)
    typed = clearness * np.bincount(month, outside) / MONTH_LENGTHS / 1000.0
    site = changed(SOUTHERN, irradiation_kwh_per_m2_day=typed)
    weather = synthetic_weather(**site, years=2, seed=1)
    light = by_month(weather, weather.ghi_w_per_m2) * 0.024
    np.testing.assert_allclose(light, typed, rtol=1e-6)


def test_polar_night_is_dark_and_its_months_may_be_zero_only():
    weather = synthetic_weather(**POLAR, years=2, seed=1)
    assert np.all(weather.ghi_w_per_m2[np.isin(weather.month_index, (0, 10, 11))] == 0.0)
    light = list(POLAR["irradiation_kwh_per_m2_day"])
    light[11] = 0.3
    with pytest.raises(ValueError, match=r"December is 0\.300 .* between 0 and 0\.020"):
        synthetic_weather(**changed(POLAR, irradiation_kwh_per_m2_day=light), years=1, seed=0)


@pytest.mark.parametrize("wrong", [-0.1, 12.0])
def test_impossible_light_names_the_month_the_value_and_the_limit(wrong):
    light = list(UPLAND["irradiation_kwh_per_m2_day"])
    light[6] = wrong
    most = 0.85 * sun.extraterrestrial_daily_wh_per_m2(54.0, np.arange(182, 213)).mean() / 1000
    with pytest.raises(ValueError, match=rf"July is {wrong:.3f} .*between 0 and {most:.3f}"):
        synthetic_weather(**changed(UPLAND, irradiation_kwh_per_m2_day=light), years=1, seed=0)


@pytest.mark.parametrize(
    "change",
    [
        {"mean_degc": [1.0] * 11},
        {"mean_degc": [np.nan] * 12},
        {"mean_degc": [30.0] * 12},
        {"min_degc": [15.0] * 12},
        {"latitude_deg": 91.0},
        {"years": 0},
        {"daily_sd_degc": -1.0},
        {"clearness_spread": 1.5},
    ],
    ids=lambda change: next(iter(change)),
)
def test_other_nonsense_is_refused(change):
    with pytest.raises(ValueError, match=r"must|needs"):
        synthetic_weather(**({"years": 1, "seed": 0} | UPLAND | change))


def test_a_mean_far_from_the_middle_still_comes_back():
    site = changed(UPLAND, mean_degc=np.array(UPLAND["min_degc"]) + 0.5)
    weather = synthetic_weather(**site, years=2, seed=3)
    np.testing.assert_allclose(
        by_month(weather, weather.temperature_degc), site["mean_degc"], atol=0.3
    )


def test_a_flat_plane_gets_the_global_light():
    weather = synthetic_weather(**UPLAND, years=2, seed=3)
    flat = plane_of_array(weather, latitude_deg=54.0, tilt_deg=0.0, azimuth_deg=77.0)
    np.testing.assert_allclose(flat, weather.ghi_w_per_m2, atol=1e-9)


def test_tilting_to_the_equator_pays_in_both_hemispheres():
    for site, towards in ((UPLAND, 180.0), (SOUTHERN, 0.0)):
        weather = synthetic_weather(**site, years=2, seed=3)
        latitude = site["latitude_deg"]

        def year(
            azimuth: float, weather: HourlyWeather = weather, latitude: float = latitude
        ) -> float:
            light = plane_of_array(
                weather, latitude_deg=latitude, tilt_deg=35.0, azimuth_deg=azimuth
            )
            assert np.all(light >= 0.0)
            assert light.max() < 1500.0
            return float(light.sum())

        flat = float(weather.ghi_w_per_m2.sum())
        assert year(towards) > 1.03 * flat
        assert year(180.0 - towards) < 0.85 * flat
