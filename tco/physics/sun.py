"""The sun over a place, hour by hour: extraterrestrial, split, and light on a tilted plane.

Angles inside are radians (`_rad`), what people type is degrees (`_deg`). Azimuths run clockwise
from north: 0 north, 90 east, 180 south, in both hemispheres. Hours are solar time: index h in
0..23 is the hour from h:00 to h+1:00, evaluated at its middle. Scalars and arrays are broadcast.
Polar day and polar night are ordinary cases: light all day, or none, never NaN.
"""

import numpy as np
from numpy.typing import ArrayLike

from tco.physics.arrays import FloatArray

SOLAR_CONSTANT_W_PER_M2 = 1367.0
"""World Radiation Center value used by Duffie and Beckman, section 1.2."""

HIGHEST_BEAM_RATIO = 1.0 / np.sin(np.radians(3.0))
"""Tilted over horizontal beam never exceeds this: the ratio diverges as the sun touches the
horizon (Duffie and Beckman, section 2.20, warn of it). The choice of 3 degrees: common practice,
no source."""

NOCT_IRRADIANCE_W_PER_M2 = 800.0
NOCT_AMBIENT_DEGC = 20.0
"""Conditions at which a module's nominal operating cell temperature is measured (IEC 61215)."""


def _latitude_rad(latitude_deg: ArrayLike) -> FloatArray:
    latitude = np.asarray(latitude_deg, dtype=np.float64)
    if not np.all(np.abs(latitude) <= 90.0):
        raise ValueError(f"latitude must lie in -90..90 degrees, got {latitude_deg!r}")
    return np.radians(latitude)


def _checked_day(day_of_year: ArrayLike) -> FloatArray:
    day = np.asarray(day_of_year, dtype=np.float64)
    if not np.all((day >= 1.0) & (day < 367.0)):
        raise ValueError(f"day of year must lie in 1..366, got {day_of_year!r}")
    return day


def declination_rad(day_of_year: ArrayLike) -> FloatArray:
    """Angle of the sun north of the equator [rad], from the day of the year 1..366.

    Spencer, "Fourier series representation of the position of the sun", Search 2 (1971) 172;
    Duffie and Beckman, eq. 1.6.1b. Raises ValueError for a day outside the year.
    """
    b = 2.0 * np.pi * (_checked_day(day_of_year) - 1.0) / 365.0
    return (
        0.006918
        - 0.399912 * np.cos(b)
        + 0.070257 * np.sin(b)
        - 0.006758 * np.cos(2.0 * b)
        + 0.000907 * np.sin(2.0 * b)
        - 0.002697 * np.cos(3.0 * b)
        + 0.00148 * np.sin(3.0 * b)
    )


def extraterrestrial_normal_w_per_m2(day_of_year: ArrayLike) -> FloatArray:
    """Irradiance outside the air on a plane facing the sun [W/m2].

    Duffie and Beckman, eq. 1.4.1a. Raises ValueError for a day outside the year.
    """
    day = _checked_day(day_of_year)
    return SOLAR_CONSTANT_W_PER_M2 * (1.0 + 0.033 * np.cos(2.0 * np.pi * day / 365.0))


def sunset_hour_angle_rad(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Hour angle of sunset [rad]: 0 in polar night, pi in polar day.

    Duffie and Beckman, eq. 1.6.10. Raises ValueError for a latitude or day out of range.
    """
    latitude, declination = _latitude_rad(latitude_deg), declination_rad(day_of_year)
    return np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))


def extraterrestrial_daily_wh_per_m2(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Energy of one day outside the air on a horizontal plane [Wh/m2].

    Duffie and Beckman, eq. 1.10.3 (there in J/m2; divided by 3600). Raises ValueError for a
    latitude or day out of range.
    """
    latitude, declination = _latitude_rad(latitude_deg), declination_rad(day_of_year)
    sunset = sunset_hour_angle_rad(latitude_deg, day_of_year)
    daily = (24.0 / np.pi) * (
        np.cos(latitude) * np.cos(declination) * np.sin(sunset)
        + sunset * np.sin(latitude) * np.sin(declination)
    )
    return extraterrestrial_normal_w_per_m2(day_of_year) * np.maximum(daily, 0.0)


def hour_angle_rad(hour: ArrayLike) -> FloatArray:
    """Hour angle at the middle of hour index `hour` in 0..23 [rad], negative before noon."""
    return np.radians(15.0) * (np.asarray(hour, dtype=np.float64) + 0.5 - 12.0)


def cos_zenith(latitude_deg: ArrayLike, day_of_year: ArrayLike, hour: ArrayLike) -> FloatArray:
    """Cosine of the sun's angle from overhead at mid-hour; negative below the horizon.

    Duffie and Beckman, eq. 1.6.5. Raises ValueError for a latitude or day out of range.
    """
    latitude, declination = _latitude_rad(latitude_deg), declination_rad(day_of_year)
    return np.cos(latitude) * np.cos(declination) * np.cos(hour_angle_rad(hour)) + np.sin(
        latitude
    ) * np.sin(declination)


def cos_incidence(
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
    hour: ArrayLike,
    *,
    tilt_deg: ArrayLike,
    azimuth_deg: ArrayLike,
) -> FloatArray:
    """Cosine of the angle between the sun at mid-hour and a plane's normal; negative behind it.

    The tilt is 0 flat, 90 upright; the azimuth is where the plane faces, clockwise from north.
    The product of the two unit vectors in east, north, up, which is Duffie and Beckman,
    eq. 1.6.2, without its signs by hemisphere. Raises ValueError for a latitude or day out of
    range.
    """
    latitude, declination = _latitude_rad(latitude_deg), declination_rad(day_of_year)
    angle = hour_angle_rad(hour)
    tilt, azimuth = np.radians(tilt_deg), np.radians(azimuth_deg)
    east = -np.cos(declination) * np.sin(angle)
    north = np.cos(latitude) * np.sin(declination) - np.sin(latitude) * np.cos(
        declination
    ) * np.cos(angle)
    up = cos_zenith(latitude_deg, day_of_year, hour)
    return np.sin(tilt) * (np.sin(azimuth) * east + np.cos(azimuth) * north) + np.cos(tilt) * up


def extraterrestrial_hourly_w_per_m2(
    latitude_deg: ArrayLike, day_of_year: ArrayLike, hour: ArrayLike
) -> FloatArray:
    """Irradiance outside the air on a horizontal plane at mid-hour [W/m2], zero at night.

    Duffie and Beckman, eq. 1.10.1. Raises ValueError for a latitude or day out of range.
    """
    return extraterrestrial_normal_w_per_m2(day_of_year) * np.maximum(
        cos_zenith(latitude_deg, day_of_year, hour), 0.0
    )


def _ratio_slope(hour_angle: ArrayLike, sunset_hour_angle: ArrayLike) -> FloatArray:
    """The a + b cos(w) of Collares-Pereira and Rabl: hourly over daily clearness index."""
    past = np.sin(np.asarray(sunset_hour_angle, dtype=np.float64) - np.radians(60.0))
    return (0.409 + 0.5016 * past) + (0.6609 - 0.4767 * past) * np.cos(hour_angle)


def hour_ratio(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Share of a day's horizontal energy in each hour, shape (..., 24); the hours sum to 1.

    r_t of Collares-Pereira and Rabl, Solar Energy 22 (1979) 155-164 (Duffie and Beckman,
    eq. 2.13.2), whose hours sum to about 0.99, written as a + b cos(w) times the extraterrestrial
    hour, so that polar day needs no exception, and normalised per day. A day on which no hour has
    the sun up at its middle gives 24 zeros. Raises ValueError for a
    latitude or day out of range.
    """
    latitude = np.asarray(latitude_deg, dtype=np.float64)[..., np.newaxis]
    day = np.asarray(day_of_year, dtype=np.float64)[..., np.newaxis]
    hours = np.arange(24)
    slope = _ratio_slope(hour_angle_rad(hours), sunset_hour_angle_rad(latitude, day))
    weight = slope * np.maximum(cos_zenith(latitude, day, hours), 0.0)
    total = weight.sum(axis=-1, keepdims=True)
    return np.divide(weight, total, out=np.zeros_like(weight), where=total > 0.0)


def diffuse_fraction(clearness_index: ArrayLike) -> FloatArray:
    """Diffuse share of an hour's horizontal light, from that hour's clearness index.

    Erbs, Klein and Duffie, Solar Energy 28 (1982) 293-302; Duffie and Beckman, eq. 2.10.1.
    Raises ValueError for a negative clearness index or NaN.
    """
    k = np.asarray(clearness_index, dtype=np.float64)
    if not np.all(k >= 0.0):
        raise ValueError("clearness index must not be negative or missing")
    middle = 0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)))
    return np.where(k <= 0.22, 1.0 - 0.09 * k, np.where(k <= 0.80, middle, 0.165))


def beam_ratio(cos_incidence: ArrayLike, cos_zenith: ArrayLike) -> FloatArray:
    """Beam on a plane over beam on the horizontal, guarded near the horizon.

    R_b of Duffie and Beckman, eq. 1.8.1, zero with the sun behind the plane or down, and never
    above `HIGHEST_BEAM_RATIO`. A flat plane has exactly 1 whenever the sun is up.
    """
    incidence = np.maximum(np.asarray(cos_incidence, dtype=np.float64), 0.0)
    zenith = np.asarray(cos_zenith, dtype=np.float64)
    up = zenith > 0.0
    lowest = np.where(up, np.maximum(zenith, incidence / HIGHEST_BEAM_RATIO), 1.0)
    return np.where(up, incidence, 0.0) / lowest


def transpose(
    beam_horizontal_w_per_m2: ArrayLike,
    diffuse_horizontal_w_per_m2: ArrayLike,
    *,
    cos_incidence: ArrayLike,
    cos_zenith: ArrayLike,
    tilt_deg: ArrayLike,
    albedo: ArrayLike = 0.2,
) -> FloatArray:
    """Light on a tilted plane [W/m2]: beam, isotropic sky and what the ground reflects.

    Liu and Jordan, Solar Energy 7 (1963) 53-74; Duffie and Beckman, eq. 2.15.1. `albedo` is the
    fraction the ground reflects; 0.2 is the usual value for bare ground (section 2.15 there).
    Beam of an hour whose middle is dark (sunrise, sunset) is taken as diffuse. A flat plane
    gets back beam plus diffuse. Raises ValueError for a tilt outside 0..180 or an albedo
    outside 0..1.
    """
    tilt_given, ground = np.asarray(tilt_deg, np.float64), np.asarray(albedo, np.float64)
    if not np.all((tilt_given >= 0.0) & (tilt_given <= 180.0)):
        raise ValueError(f"tilt must lie in 0..180 degrees, got {tilt_deg!r}")
    if not np.all((ground >= 0.0) & (ground <= 1.0)):
        raise ValueError(f"albedo must lie in 0..1, got {albedo!r}")
    beam = np.asarray(beam_horizontal_w_per_m2, dtype=np.float64)
    diffuse = np.asarray(diffuse_horizontal_w_per_m2, dtype=np.float64)
    sky_seen = (1.0 + np.cos(np.radians(tilt_given))) / 2.0
    ratio = np.where(np.asarray(cos_zenith) > 0.0, beam_ratio(cos_incidence, cos_zenith), sky_seen)
    return beam * ratio + diffuse * sky_seen + (beam + diffuse) * ground * (1.0 - sky_seen)


def cell_temperature_degc(
    ambient_degc: ArrayLike, irradiance_w_per_m2: ArrayLike, *, noct_degc: ArrayLike = 45.0
) -> FloatArray:
    """Temperature of a module's cells [degC] from the air and the light on its plane.

    Linear in light, through the nominal operating cell temperature: Ross, 12th IEEE PV
    Specialists Conf. (1976); Duffie and Beckman, eq. 23.3.3 without its efficiency term. The
    default NOCT of 45 degC: common practice, no source; modules state their own. Raises
    ValueError for negative light.
    """
    light = np.asarray(irradiance_w_per_m2, dtype=np.float64)
    if not np.all(light >= 0.0):
        raise ValueError("irradiance must not be negative or missing")
    rise = (np.asarray(noct_degc, dtype=np.float64) - NOCT_AMBIENT_DEGC) / NOCT_IRRADIANCE_W_PER_M2
    return np.asarray(ambient_degc, dtype=np.float64) + light * rise
