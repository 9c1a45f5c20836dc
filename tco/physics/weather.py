"""Hourly years made from twelve monthly values, with the dull runs and cold runs of real weather.

The long-run monthly means are those typed; between them every day is drawn. Days have 24 solar
hours and years 365 days, January first, no leap days. The years follow one another, so a dull
spell may straddle the new year.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from tco.physics import sun
from tco.physics.arrays import FloatArray, IntArray

DAYS_PER_YEAR = 365
HOURS_PER_YEAR = 8760
MONTH_LENGTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
_MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_LENGTHS)
MONTH_NAMES = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)

HIGHEST_MONTHLY_CLEARNESS = 0.85
"""No month's mean light exceeds this share of the extraterrestrial: common practice, no source.
(The clear-sky day of Bendt et al. is at 0.83 of it for a month at 0.75.)"""

TWILIGHT_WH_PER_M2_DAY = 20.0
"""A typed month may exceed the limit up to this: twilight and rounding in tables of places near
polar night. Common practice, no source."""

LOWEST_CLEARNESS = 0.05
"""Kmin of Bendt, Collares-Pereira and Rabl."""

DULLEST_FITTED_MONTH = 0.2
"""Bendt's formula for the clearest day fails for months far below the data (0.3 to 0.7) it was
fitted to. Duller months than this take the distribution of this one, scaled. An assumption."""

CLEARNESS_LAG_ONE = 0.29
"""Lag-1 autocorrelation of the Gaussian-mapped daily clearness index: Graham, Hollands and Unny,
Solar Energy 40 (1988) 83-92 (value from memory)."""

TEMPERATURE_LAG_ONE = 0.65
"""Lag-1 autocorrelation of daily temperature residuals: within the 0.62 to 0.67 of Richardson and
Wright, WGEN, USDA ARS-8 (1984)."""

CLEARNESS_SLOW_SHARE = 0.08
TEMPERATURE_SLOW_SHARE = 0.2
SLOW_DAYS = 20.0
"""A dull month, a mild winter: this share of the daily variance (of the Gaussian clearness index,
of the temperature) fades over so many days only, so that months and years differ. Chosen so that,
with Bendt's distribution drawn together to 0.8, the light of a winter month varies by 10 to 15 %
from year to year at mid latitudes, that of a year by 3 to 5 %, and a month's mean temperature by
1.5 to 2 K (standard deviations, all from memory). The lag of one day stays the published one: what
is left of the variance forgets faster. An assumption."""

WARMEST_HOUR = 15.0
"""Solar time of the daily maximum: common practice, no source."""

BLEND_HOURS = 3
"""A day's residual passes into the next one's over this many hours about midnight, without a
jump. It raises the lag-1 of daily means slightly, to about 0.67. An assumption."""


@dataclass(frozen=True)
class HourlyWeather:
    """Whole years of hourly weather; every array has shape (years * 8760,), solar time.

    Light is the mean over the hour [W/m2]: `ghi` on the horizontal, `dhi` its diffuse part,
    `dni` the beam facing the sun. `day_of_year` is 1..365 and `month_index` 0..11.
    """

    temperature_degc: FloatArray
    ghi_w_per_m2: FloatArray
    dni_w_per_m2: FloatArray
    dhi_w_per_m2: FloatArray
    day_of_year: IntArray
    month_index: IntArray
    years: int


def clearest_day(monthly_clearness: FloatArray) -> FloatArray:
    """Clearness index of the clearest day of a month with this mean clearness.

    Kmax of Bendt, Collares-Pereira and Rabl; Duffie and Beckman, eq. 2.9.6.
    """
    return 0.6313 + 0.267 * monthly_clearness - 11.9 * (monthly_clearness - 0.75) ** 8


def clearness_gamma(monthly_clearness: FloatArray) -> FloatArray:
    """The exponent g of Bendt's distribution whose mean is the month's clearness, solved exactly.

    Bendt, Collares-Pereira and Rabl, Solar Energy 27 (1981) 1-5; Duffie and Beckman, eq. 2.9.2
    and section 2.9. With x = g (Kmax - Kmin) the mean is at (1 + coth(x/2))/2 - 1/x of the way
    from Kmin to Kmax. Raises ValueError for a monthly clearness outside 0.2..0.85.
    """
    clearness = np.asarray(monthly_clearness, dtype=np.float64)
    inside = (clearness >= DULLEST_FITTED_MONTH) & (clearness <= HIGHEST_MONTHLY_CLEARNESS)
    if not np.all(inside):
        raise ValueError(f"monthly clearness must lie in 0.2..0.85, got {monthly_clearness}")
    width = clearest_day(clearness) - LOWEST_CLEARNESS
    wanted = (clearness - LOWEST_CLEARNESS) / width
    low, high = np.full_like(wanted, -250.0), np.full_like(wanted, 250.0)
    for _ in range(60):
        x = 0.5 * (low + high)
        safe = np.where(np.abs(x) < 1e-3, 1.0, x)
        share = np.where(
            np.abs(x) < 1e-3, 0.5 + x / 12.0, 0.5 + 0.5 / np.tanh(safe / 2.0) - 1.0 / safe
        )
        low, high = np.where(share < wanted, x, low), np.where(share < wanted, high, x)
    return 0.5 * (low + high) / width


def clearness_quantile(
    probability: FloatArray, gamma: FloatArray, clearest: FloatArray
) -> FloatArray:
    """Daily clearness index below which a share `probability` of days lies.

    The inverse of F(K) in Bendt, Collares-Pereira and Rabl (Duffie and Beckman, eq. 2.9.1),
    uniform between Kmin and `clearest` where g is zero.
    """
    return _quantile_and_slope(probability, gamma, clearest)[0]


def _quantile_and_slope(
    probability: FloatArray, gamma: FloatArray, clearest: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The quantile and its derivative by probability."""
    width = clearest - LOWEST_CLEARNESS
    flat = np.abs(gamma * width) < 1e-6
    g = np.where(flat, 1e-6 / width, gamma)
    span = np.expm1(g * width)
    grown = probability * span
    return LOWEST_CLEARNESS + np.log1p(grown) / g, span / (g * (1.0 + grown))


def _strays(noise: FloatArray, lag_one: float, slow_share: float) -> FloatArray:
    """A stationary series of unit variance whose lag-1 autocorrelation is `lag_one`.

    The sum of two first-order autoregressions: a share `slow_share` of the variance has a memory
    of SLOW_DAYS, and the lag of the rest is what that leaves of `lag_one`. `noise` is unit normal,
    shape (2, days), the fast one's first.
    """
    slow_lag = float(np.exp(-1.0 / SLOW_DAYS))
    fast_lag = (lag_one - slow_share * slow_lag) / (1.0 - slow_share)
    fast = np.sqrt(1.0 - slow_share) * _ar1(noise[0], fast_lag)
    strays: FloatArray = fast + np.sqrt(slow_share) * _ar1(noise[1], slow_lag)
    return strays


def _ar1(noise: FloatArray, lag_one: float) -> FloatArray:
    """A stationary first-order autoregression of unit variance, driven by unit normal noise."""
    fresh = float(np.sqrt(1.0 - lag_one**2))
    steps: list[float] = noise.tolist()
    for i in range(1, len(steps)):
        steps[i] = lag_one * steps[i - 1] + fresh * steps[i]
    return np.array(steps)


def brightest_months_wh_per_m2_day(latitude_deg: float) -> FloatArray:
    """Most light a day on the horizontal that the mean of a month can be, January first [Wh/m2].

    `HIGHEST_MONTHLY_CLEARNESS` of what arrives outside the air, and twilight at the least. Shape
    (12,). Raises ValueError for a latitude out of range.
    """
    day = np.arange(1, DAYS_PER_YEAR + 1)
    arriving = sun.extraterrestrial_daily_wh_per_m2(latitude_deg, day)
    above = np.bincount(_MONTH_OF_DAY, weights=arriving) / MONTH_LENGTHS
    return np.maximum(HIGHEST_MONTHLY_CLEARNESS * above, TWILIGHT_WH_PER_M2_DAY)


def _monthly_mean_clearness(
    irradiation_wh: FloatArray, extraterrestrial_wh: FloatArray, latitude_deg: float
) -> FloatArray:
    """Typed over extraterrestrial by month, zero in polar night; ValueError where impossible."""
    above = np.bincount(_MONTH_OF_DAY, weights=extraterrestrial_wh) / MONTH_LENGTHS
    limit = brightest_months_wh_per_m2_day(latitude_deg)
    for name, typed, most in zip(MONTH_NAMES, irradiation_wh, limit, strict=True):
        if not 0.0 <= typed <= most:
            raise ValueError(
                f"irradiation in {name} is {typed / 1000:.3f} kWh/m2 a day; at latitude "
                f"{latitude_deg:g} it must lie between 0 and {most / 1000:.3f} "
                f"({HIGHEST_MONTHLY_CLEARNESS:g} of what arrives outside the air)"
            )
    clearness = np.divide(irradiation_wh, above, out=np.zeros(12), where=above > 0.0)
    return np.minimum(clearness, HIGHEST_MONTHLY_CLEARNESS)


def _daily_clearness(
    gaussian: FloatArray, monthly_clearness: FloatArray, extraterrestrial_wh: FloatArray
) -> FloatArray:
    """Daily clearness indices, shape (years, 365), whose light has exactly the monthly means.

    Each day's index is Bendt's quantile of the normal probability of its Gaussian index. The
    sample mean of a month is then brought to the typed one by moving the Gaussian index of all
    its days, in all the years, by the same amount: order, bounds and shape of the distribution
    stay. The amount is found by Newton's method kept inside a shrinking bracket.
    """
    years = len(gaussian) // DAYS_PER_YEAR
    month = np.tile(_MONTH_OF_DAY, years)
    fitted = np.maximum(monthly_clearness, DULLEST_FITTED_MONTH)
    gamma, clearest = clearness_gamma(fitted), clearest_day(fitted)
    gamma_of_day, clearest_of_day = gamma[month], clearest[month]
    weight = np.tile(extraterrestrial_wh, years)
    total = np.bincount(month, weights=weight)
    lit = total > 0.0
    weight = weight / np.where(lit, total, 1.0)[month]
    low, high, shift = np.full(12, -12.0), np.full(12, 12.0), np.zeros(12)
    for _ in range(60):
        z = gaussian + shift[month]
        daily, slope = _quantile_and_slope(ndtr(z), gamma_of_day, clearest_of_day)
        error = np.where(lit, np.bincount(month, weights=weight * daily) - fitted, 0.0)
        if np.max(np.abs(error)) < 1e-9:
            break
        low, high = np.where(error < 0.0, shift, low), np.where(error > 0.0, shift, high)
        density = np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi)
        steepness = np.bincount(month, weights=weight * slope * density)
        newton = shift - error / np.maximum(steepness, 1e-12)
        kept = (newton >= low) & (newton <= high)
        shift = np.where(kept, newton, 0.5 * (low + high))
    else:
        raise ValueError(f"no daily clearness found with the means {monthly_clearness}")
    return (daily * (monthly_clearness / fitted)[month]).reshape(years, DAYS_PER_YEAR)


def _course_matrix() -> FloatArray:
    """Matrix (365, 12) from twelve monthly means to a smooth yearly course that has those means.

    Straight lines between mid-months, smoothed by a month's moving average; nodes corrected by
    the inverse of what that does to monthly means.
    """
    ends = np.cumsum(MONTH_LENGTHS)
    middle = ends - MONTH_LENGTHS / 2.0
    day = np.arange(DAYS_PER_YEAR) + 0.5
    hats = np.stack(
        [np.interp(day, middle, row, period=DAYS_PER_YEAR) for row in np.eye(12)], axis=1
    )
    smooth = np.mean([np.roll(hats, step, axis=0) for step in range(-15, 16)], axis=0)
    means = np.add.reduceat(smooth, ends - MONTH_LENGTHS, axis=0) / MONTH_LENGTHS[:, None]
    course: FloatArray = smooth @ np.linalg.inv(means)
    return course


_COURSE = _course_matrix()


def _diurnal_shape(sunrise_hour: FloatArray) -> FloatArray:
    """Shape (365, 24): 0 at sunrise, 1 at the warmest hour, half cosine waves between."""
    hour = np.arange(24) + 0.5
    rise = sunrise_hour[:, None]
    since = np.mod(hour - rise, 24.0)
    warming = WARMEST_HOUR - rise
    phase = np.where(since <= warming, since / warming, 1.0 + (since - warming) / (24.0 - warming))
    return 0.5 * (1.0 - np.cos(np.pi * phase))


def _temperature_by_day_and_hour(
    mean: FloatArray, low: FloatArray, high: FloatArray, latitude_deg: float
) -> FloatArray:
    """The average year, shape (365, 24): daily mean exact, between daily minimum and maximum.

    The shape s is bent to s + c s (1 - s), which keeps 0 and 1, so that its daily mean is where
    the typed mean lies between minimum and maximum; |c| <= 1 keeps it monotone, and what is left
    moves the whole day.
    """
    day = np.arange(1, DAYS_PER_YEAR + 1)
    sunset = sun.sunset_hour_angle_rad(latitude_deg, day)
    shape = _diurnal_shape(np.clip(12.0 - sunset * 12.0 / np.pi, 3.0, 9.0))
    swing = np.maximum(high - low, 0.0)
    plain, bump = shape.mean(axis=1), (shape * (1.0 - shape)).mean(axis=1)
    wanted = np.divide(mean - low, swing, out=plain.copy(), where=swing > 0.0)
    bend = np.clip((wanted - plain) / bump, -1.0, 1.0)
    bent = shape * (1.0 + bend[:, None] * (1.0 - shape))
    return mean[:, None] + swing[:, None] * (bent - bent.mean(axis=1, keepdims=True))


def _spread_over_hours(daily: FloatArray) -> FloatArray:
    """Shape (days, 24) from daily values: constant by day, a straight passage about midnight."""
    half = BLEND_HOURS / 2.0
    hour = np.arange(24) + 0.5
    before = np.clip(0.5 * (1.0 - hour / half), 0.0, None)
    after = np.clip(0.5 * (1.0 - (24.0 - hour) / half), 0.0, None)
    padded = np.concatenate([daily[:1], daily, daily[-1:]])
    return (
        np.outer(daily, 1.0 - before - after)
        + np.outer(padded[:-2], before)
        + np.outer(padded[2:], after)
    )


def _twelve(name: str, values: Sequence[float]) -> FloatArray:
    array = np.asarray(values, dtype=np.float64)
    if array.shape != (12,) or not np.all(np.isfinite(array)):
        raise ValueError(f"{name} needs twelve numbers, January first, got {values}")
    return array


def synthetic_weather(
    *,
    latitude_deg: float,
    mean_degc: Sequence[float],
    min_degc: Sequence[float],
    max_degc: Sequence[float],
    irradiation_kwh_per_m2_day: Sequence[float],
    years: int,
    seed: int,
    daily_sd_degc: float = 3.5,
    clearness_spread: float = 1.0,
    lasting: bool = True,
) -> HourlyWeather:
    """Hourly years from twelve monthly values each: the same seed gives the same bytes.

    Monthly mean temperature, mean daily minimum and maximum [degC], and mean daily light on the
    horizontal [kWh/m2 a day], January first. `daily_sd_degc` is how far daily temperatures
    stray from the average year (standard deviation [K]; the default is an assumption).
    `clearness_spread` draws daily clearness towards its monthly mean: 1 is Bendt's distribution,
    0 makes all days of a month alike. Bendt's is wide: the three typical years that ship with
    pvlib have 0.6 to 0.8 of it, so 1 errs towards dull runs that are too deep. Without `lasting`,
    a dull or cold spell is forgotten in days and years differ too little (see SLOW_DAYS).

    Light: daily clearness index by Bendt, Collares-Pereira and Rabl, Solar Energy 27 (1981) 1-5,
    dull runs by a first-order autoregression of its Gaussian-mapped value (Graham, Hollands and
    Unny, Solar Energy 40 (1988) 83-92), hours by Collares-Pereira and Rabl, diffuse by Erbs.
    Temperature: a smooth yearly course, a daily wave from sunrise to mid-afternoon, and daily
    residuals that persist (Richardson and Wright, WGEN, 1984). Both stray for whole months too.
    Over all the years together the monthly means of both are those typed; single years differ, but
    a single year that is alone cannot. Light and temperature are drawn independently.

    Raises ValueError for other than twelve finite values, a month whose mean is not between its
    minimum and maximum, light below zero or above 0.85 of the extraterrestrial, fewer than one
    year, a latitude out of range, a negative `daily_sd_degc` or a `clearness_spread` outside
    0..1.
    """
    mean, low = _twelve("mean_degc", mean_degc), _twelve("min_degc", min_degc)
    high = _twelve("max_degc", max_degc)
    light = 1000.0 * _twelve("irradiation_kwh_per_m2_day", irradiation_kwh_per_m2_day)
    for name, least, middle, most in zip(MONTH_NAMES, low, mean, high, strict=True):
        if not least <= middle <= most:
            raise ValueError(
                f"temperatures in {name} must rise from minimum over mean to maximum, "
                f"got {least:g}, {middle:g}, {most:g} degC"
            )
    if years < 1:
        raise ValueError(f"years must be at least 1, got {years}")
    if not (np.isfinite(daily_sd_degc) and daily_sd_degc >= 0.0):
        raise ValueError(f"daily_sd_degc must not be negative, got {daily_sd_degc}")
    if not 0.0 <= clearness_spread <= 1.0:
        raise ValueError(f"clearness_spread must lie in 0..1, got {clearness_spread}")

    rng = np.random.Generator(np.random.PCG64(seed))
    noise = rng.standard_normal((4, years * DAYS_PER_YEAR))
    dull, mild = (CLEARNESS_SLOW_SHARE, TEMPERATURE_SLOW_SHARE) if lasting else (0.0, 0.0)

    day = np.arange(1, DAYS_PER_YEAR + 1)
    hour_share = sun.hour_ratio(latitude_deg, day)
    lit = hour_share.sum(axis=1) > 0.0
    above = np.where(lit, sun.extraterrestrial_daily_wh_per_m2(latitude_deg, day), 0.0)
    monthly = _monthly_mean_clearness(light, above, latitude_deg)
    drawn = _daily_clearness(_strays(noise[::2], CLEARNESS_LAG_ONE, dull), monthly, above)
    typical = monthly[_MONTH_OF_DAY]
    clearness = typical + clearness_spread * (drawn - typical)
    ghi, dhi, dni = _hourly_light(clearness, above[:, None] * hour_share, latitude_deg)

    average = _temperature_by_day_and_hour(
        _COURSE @ mean, _COURSE @ low, _COURSE @ high, latitude_deg
    )
    strays = _strays(noise[1::2], TEMPERATURE_LAG_ONE, mild)
    stray = _spread_over_hours(daily_sd_degc * strays)
    by_day = stray.reshape(years, DAYS_PER_YEAR, 24)
    daily_mean = by_day.mean(axis=(0, 2))
    starts = np.cumsum(MONTH_LENGTHS) - MONTH_LENGTHS
    drift = _COURSE @ (np.add.reduceat(daily_mean, starts) / MONTH_LENGTHS)
    temperature = by_day + (average - drift[:, None])

    return HourlyWeather(
        temperature_degc=temperature.reshape(-1),
        ghi_w_per_m2=ghi,
        dni_w_per_m2=dni,
        dhi_w_per_m2=dhi,
        day_of_year=np.tile(np.repeat(day, 24), years),
        month_index=np.tile(np.repeat(_MONTH_OF_DAY, 24), years),
        years=years,
    )


def _hourly_light(
    clearness: FloatArray, clear_hours: FloatArray, latitude_deg: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Global, diffuse and beam-normal light by hour [W/m2], flat over all the years.

    `clear_hours` (365, 24) is a day's extraterrestrial energy spread over its hours.
    """
    day, hour = np.arange(1, DAYS_PER_YEAR + 1)[:, None], np.arange(24)
    outside = sun.extraterrestrial_hourly_w_per_m2(latitude_deg, day, hour)
    shaped = np.divide(clear_hours, outside, out=np.zeros_like(outside), where=outside > 0.0)
    hourly_index = clearness[:, :, None] * shaped
    beam_index = hourly_index * (1.0 - sun.diffuse_fraction(hourly_index))
    ghi = clearness[:, :, None] * clear_hours
    dhi = ghi - beam_index * outside
    dni = beam_index * sun.extraterrestrial_normal_w_per_m2(day)
    return ghi.reshape(-1), dhi.reshape(-1), dni.reshape(-1)


def plane_of_array(
    weather: HourlyWeather,
    *,
    latitude_deg: float,
    tilt_deg: float,
    azimuth_deg: float,
    albedo: float = 0.2,
) -> FloatArray:
    """Light on a tilted plane for every hour of the weather [W/m2], shape (years * 8760,).

    Isotropic sky (`sun.transpose`); the azimuth is clockwise from north. The hours must be solar
    time, as `synthetic_weather` makes them; beam is `ghi` less `dhi`, never below zero (measured
    files may disagree with themselves). Raises ValueError for a latitude, tilt or albedo out
    of range.
    """
    day, hour = np.arange(1, DAYS_PER_YEAR + 1)[:, None], np.arange(24)
    incidence = sun.cos_incidence(
        latitude_deg, day, hour, tilt_deg=tilt_deg, azimuth_deg=azimuth_deg
    )
    shape = (weather.years, DAYS_PER_YEAR, 24)
    ghi = weather.ghi_w_per_m2.reshape(shape)
    dhi = np.minimum(weather.dhi_w_per_m2.reshape(shape), ghi)
    return sun.transpose(
        ghi - dhi,
        dhi,
        cos_incidence=incidence,
        cos_zenith=sun.cos_zenith(latitude_deg, day, hour),
        tilt_deg=tilt_deg,
        albedo=albedo,
    ).reshape(-1)
