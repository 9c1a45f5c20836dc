"""Limits, identities and refusals of the sun module; its published values: tests/published."""

import numpy as np
import pytest

from tco.physics import sun

DAYS = np.arange(1, 366)
LATITUDES = np.array([-90.0, -80.0, -66.6, -34.0, 0.0, 23.4, 52.0, 66.6, 70.0, 90.0])


@pytest.mark.parametrize("latitude", LATITUDES)
def test_no_latitude_or_day_gives_nan_or_negative_light(latitude):
    daily = sun.extraterrestrial_daily_wh_per_m2(latitude, DAYS)
    ratio = sun.hour_ratio(latitude, DAYS)
    hourly = sun.extraterrestrial_hourly_w_per_m2(latitude, DAYS[:, None], np.arange(24))
    for values in (daily, ratio, hourly):
        assert np.all(np.isfinite(values))
        assert np.all(values >= 0.0)


@pytest.mark.parametrize("latitude", LATITUDES)
def test_the_hours_of_a_day_sum_to_one_or_to_nothing(latitude):
    total = sun.hour_ratio(latitude, DAYS).sum(axis=-1)
    dark = sun.sunset_hour_angle_rad(latitude, DAYS) <= np.radians(7.5)
    np.testing.assert_allclose(total[~dark], 1.0, rtol=1e-12)
    assert np.all(total[dark] == 0.0)


def test_polar_day_and_night():
    midsummer, midwinter = 172, 355
    assert sun.sunset_hour_angle_rad(75.0, midsummer) == np.pi
    assert sun.sunset_hour_angle_rad(75.0, midwinter) == 0.0
    assert sun.extraterrestrial_daily_wh_per_m2(75.0, midwinter) == 0.0
    assert sun.hour_ratio(75.0, midwinter).sum() == 0.0
    assert np.all(sun.hour_ratio(75.0, midsummer) > 0.0)


@pytest.mark.parametrize("latitude", [-70.0, -35.0, 0.0, 50.0, 75.0])
def test_hours_outside_the_air_add_up_to_the_day(latitude):
    """Mid-hour values are a midpoint rule; the worst day is the shortest, hence the tolerance."""
    hourly = sun.extraterrestrial_hourly_w_per_m2(latitude, DAYS[:, None], np.arange(24))
    daily = sun.extraterrestrial_daily_wh_per_m2(latitude, DAYS)
    np.testing.assert_allclose(hourly.sum(axis=1), daily, rtol=0.005, atol=30.0)


def test_the_equator_at_equinox_has_the_closed_form():
    """With declination zero: 24/pi times the irradiance facing the sun."""
    day = 80
    assert abs(np.degrees(sun.declination_rad(day))) < 0.6
    expected = 24.0 / np.pi * sun.extraterrestrial_normal_w_per_m2(day)
    assert sun.extraterrestrial_daily_wh_per_m2(0.0, day) == pytest.approx(expected, rel=1e-4)


def test_morning_is_the_mirror_of_afternoon():
    ratio = sun.hour_ratio(52.0, DAYS)
    np.testing.assert_allclose(ratio, ratio[:, ::-1], rtol=1e-12)


def test_arrays_equal_scalars():
    latitudes, days = np.array([-34.0, 10.0, 68.0]), np.array([10, 120, 300])
    for function in (
        sun.extraterrestrial_daily_wh_per_m2,
        sun.sunset_hour_angle_rad,
        sun.hour_ratio,
    ):
        together = function(latitudes, days)
        for i in range(3):
            np.testing.assert_array_equal(together[i], function(latitudes[i], days[i]))
    clearness = np.array([0.0, 0.22, 0.5, 0.9])
    np.testing.assert_array_equal(
        sun.diffuse_fraction(clearness), [float(sun.diffuse_fraction(k)) for k in clearness]
    )


@pytest.mark.parametrize(
    ("latitude", "towards_equator", "summer", "winter"),
    [(45.0, 180.0, 172, 355), (-45.0, 0.0, 355, 172)],
)
def test_a_plane_facing_the_equator_wins_in_winter(latitude, towards_equator, summer, winter):
    hours = np.arange(24)

    def beam(day, azimuth):
        incidence = sun.cos_incidence(latitude, day, hours, tilt_deg=60.0, azimuth_deg=azimuth)
        up = sun.cos_zenith(latitude, day, hours) > 0
        return np.sum(np.maximum(incidence, 0.0)[up])

    away = 180.0 - towards_equator
    assert beam(winter, towards_equator) > 5.0 * beam(winter, away)
    assert beam(summer, towards_equator) > beam(summer, away)


def test_east_gets_the_morning_and_west_the_afternoon():
    east = sun.cos_incidence(-20.0, 100, np.arange(24), tilt_deg=90.0, azimuth_deg=90.0)
    west = sun.cos_incidence(-20.0, 100, np.arange(24), tilt_deg=90.0, azimuth_deg=270.0)
    assert east[8] > 0.5
    assert west[8] < -0.5
    np.testing.assert_allclose(east, west[::-1], atol=1e-12)


def test_a_flat_plane_gets_exactly_the_horizontal_light_at_any_hour():
    day, hour = DAYS[:, None], np.arange(24)
    zenith = sun.cos_zenith(61.0, day, hour)
    incidence = sun.cos_incidence(61.0, day, hour, tilt_deg=0.0, azimuth_deg=123.0)
    light = sun.transpose(
        300.0, 100.0, cos_incidence=incidence, cos_zenith=zenith, tilt_deg=0.0, albedo=0.7
    )
    np.testing.assert_allclose(light, 400.0, rtol=1e-12)


def test_an_upright_plane_in_pure_diffuse_sees_half_the_sky_and_half_the_ground():
    light = sun.transpose(0.0, 200.0, cos_incidence=0.3, cos_zenith=0.6, tilt_deg=90.0, albedo=0.2)
    assert light == pytest.approx(100.0 + 20.0)


def test_the_beam_ratio_is_bounded_as_the_sun_touches_the_horizon():
    zenith = np.array([1e-12, 1e-6, 1e-3, 0.02, 0.05])
    ratio = sun.beam_ratio(1.0, zenith)
    np.testing.assert_allclose(ratio, 19.1073, rtol=1e-5)  # 1 / sin(3 degrees)
    assert sun.beam_ratio(0.9, -0.01) == 0.0
    assert sun.beam_ratio(-0.2, 0.5) == 0.0
    assert sun.beam_ratio(0.8, 0.5) == pytest.approx(1.6)
    assert sun.beam_ratio(0.0, 0.0) == 0.0


def test_cells_are_at_noct_under_noct_conditions_and_at_air_temperature_in_the_dark():
    assert sun.cell_temperature_degc(20.0, 800.0, noct_degc=47.0) == pytest.approx(47.0)
    assert sun.cell_temperature_degc(-15.0, 0.0) == -15.0


def test_out_of_range_is_refused():
    for call in (
        lambda: sun.cos_zenith(90.1, 1, 12),
        lambda: sun.cos_zenith(np.nan, 1, 12),
        lambda: sun.declination_rad(0),
        lambda: sun.declination_rad(np.array([1, 400])),
        lambda: sun.diffuse_fraction(-0.01),
        lambda: sun.diffuse_fraction(np.nan),
        lambda: sun.cell_temperature_degc(20.0, -1.0),
        lambda: sun.transpose(1.0, 1.0, cos_incidence=1, cos_zenith=1, tilt_deg=-1.0),
        lambda: sun.transpose(1.0, 1.0, cos_incidence=1, cos_zenith=1, tilt_deg=9, albedo=2.0),
    ):
        with pytest.raises(ValueError, match="must"):
            call()
