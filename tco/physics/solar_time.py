"""From clock time to solar time: the equation of time, and hours brought onto solar hours.

Hours are counted on through the years, 8760 to a year, from the first midnight; the end joins the
beginning. Longitudes are degrees east.
"""

import numpy as np
from numpy.typing import ArrayLike

from tco.physics import sun
from tco.physics.arrays import FloatArray, IntArray

DAYS_PER_YEAR = 365


def equation_of_time_min(day_of_year: ArrayLike) -> FloatArray:
    """Minutes by which a sundial runs ahead of an even clock, from the day of the year 1..366.

    Spencer, "Fourier series representation of the position of the sun", Search 2 (1971) 172, with
    the constant Spencer corrected himself (0.0000075) and 0.040849, as pvlib's
    `equation_of_time_spencer71` tells; Duffie and Beckman, eq. 1.5.3, print 0.000075 and 0.04089,
    which is 1.6 s off at most. Raises ValueError for a day outside the year.
    """
    day = np.asarray(day_of_year, dtype=np.float64)
    if not np.all((day >= 1.0) & (day < 367.0)):
        raise ValueError(f"day of year must lie in 1..366, got {day_of_year!r}")
    b = 2.0 * np.pi * (day - 1.0) / 365.0
    return (1440.0 / (2.0 * np.pi)) * (
        0.0000075
        + 0.001868 * np.cos(b)
        - 0.032077 * np.sin(b)
        - 0.014615 * np.cos(2.0 * b)
        - 0.040849 * np.sin(2.0 * b)
    )


def solar_hours(clock_hours: ArrayLike, *, longitude_deg: float, utc_offset_h: float) -> FloatArray:
    """Solar time of moments of the clock, both in hours since the first midnight of the year.

    Standard time plus four minutes a degree east of its meridian plus the equation of time:
    Duffie and Beckman, eq. 1.5.2 (whose longitudes run west). Summer time is not standard time.
    Raises ValueError for a longitude outside -180..180 or an offset outside -12..14 h.
    """
    if not -180.0 <= longitude_deg <= 180.0:
        raise ValueError(f"longitude must lie in -180..180 degrees, got {longitude_deg}")
    if not -12.0 <= utc_offset_h <= 14.0:
        raise ValueError(f"the offset from UTC must lie in -12..14 h, got {utc_offset_h}")
    mean_sun = np.asarray(clock_hours, dtype=np.float64) + longitude_deg / 15.0 - utc_offset_h
    day = (mean_sun / 24.0 - 0.5) % DAYS_PER_YEAR + 1.0  # whole at noon, even between
    return mean_sun + equation_of_time_min(day) / 60.0


def _light_outside(
    latitude_deg: float, bin_index: IntArray, begin: FloatArray, end: FloatArray
) -> FloatArray:
    """Integral over a part of a solar hour of the cosine from overhead, the sun up. [h]

    Duffie and Beckman, eq. 1.10.4, with the hour angles kept between sunrise and sunset. `begin`
    and `end` are counted from the beginning of the hour `bin_index`.
    """
    day = (bin_index // 24) % DAYS_PER_YEAR + 1.0
    latitude, declination = np.radians(latitude_deg), sun.declination_rad(day)
    sunset = sun.sunset_hour_angle_rad(latitude_deg, day)
    level = np.cos(latitude) * np.cos(declination)
    height = np.sin(latitude) * np.sin(declination)

    def until(hours: FloatArray) -> FloatArray:
        angle = np.radians(15.0) * (bin_index % 24 + hours - 12.0)
        lit = np.clip(angle, -sunset, sunset)
        integral: FloatArray = level * np.sin(lit) + height * lit
        return integral

    return np.maximum(until(end) - until(begin), 0.0) * 12.0 / np.pi


def hourly_means_to_solar_hours(
    *means: FloatArray, begin_h: FloatArray, latitude_deg: float
) -> tuple[FloatArray, ...]:
    """Mean light of hours that begin at any minute, brought onto whole solar hours.

    Each array of `means` [W/m2] has shape (years * 8760,), and so has `begin_h`, the solar time at
    which each of these hours begins. An hour that lies in two solar hours is shared between them
    as the light outside the air is (in equal parts of time where that is dark), so that none of
    its energy is lost and little of it lands before sunrise. Our own method. Raises ValueError
    where the shapes differ or a latitude is out of range.
    """
    count = begin_h.size
    if any(light.shape != (count,) for light in means):
        raise ValueError("every array must have the shape of begin_h")
    first = np.floor(begin_h).astype(np.int64)
    into = begin_h - first
    zero, one = np.zeros(count), np.ones(count)
    before = _light_outside(latitude_deg, first, into, one)
    after = _light_outside(latitude_deg, first + 1, zero, into)
    total = before + after
    share = np.divide(before, total, out=1.0 - into, where=total > 1e-6)

    def gathered(light: FloatArray) -> FloatArray:
        here = np.bincount(first % count, weights=light * share, minlength=count)
        on = np.bincount((first + 1) % count, weights=light * (1.0 - share), minlength=count)
        return np.asarray(here, np.float64) + np.asarray(on, np.float64)

    return tuple(gathered(light) for light in means)


def moments_to_solar_hours(values: FloatArray, *, at_h: FloatArray) -> FloatArray:
    """Values at moments of solar time, on straight lines between them at the middle of each hour.

    Both have shape (years * 8760,). Raises ValueError where the shapes differ.
    """
    if values.shape != at_h.shape:
        raise ValueError("values and at_h must have the same shape")
    count = values.size
    middle = np.arange(count) + 0.5
    found: FloatArray = np.interp(middle, at_h, values, period=count)
    return found
