"""Weather files and solar time against pvlib and a handbook.

"D&B" is Duffie and Beckman, Solar Engineering of Thermal Processes, 4th edition. The files are the
two typical years in TMY3 form that ship with pvlib, public data of the US National Renewable Energy
Laboratory.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from tco.case.weather_file import read_weather_file
from tco.physics.solar_time import equation_of_time_min, solar_hours
from tco.physics.weather import MONTH_LENGTHS, plane_of_array

DATA = Path(pvlib.__file__).parent / "data"
FILES = {"Greensboro": DATA / "723170TYA.CSV", "Sand Point": DATA / "703165TY.csv"}
MONTH = np.repeat(np.arange(12), 24 * MONTH_LENGTHS)


def test_equation_of_time_is_spencers():
    """pvlib's `equation_of_time_spencer71`: the same series, so only rounding apart."""
    days = np.arange(1, 366)
    np.testing.assert_allclose(
        equation_of_time_min(days),
        pvlib.solarposition.equation_of_time_spencer71(days),
        atol=1e-9,
    )


def test_equation_of_time_as_a_handbook_prints_it():
    """D&B eq. 1.5.3, whose two misprinted coefficients (0.000075 and 0.04089, see pvlib's note on
    Spencer) make 229.2 * (0.0000675 + 0.000041) = 0.025 min, and 229.2 for 229.18 0.002 min more.
    """
    days = np.arange(1, 366)
    b = 2.0 * np.pi * (days - 1) / 365.0
    printed = 229.2 * (
        0.000075
        + 0.001868 * np.cos(b)
        - 0.032077 * np.sin(b)
        - 0.014615 * np.cos(2 * b)
        - 0.04089 * np.sin(2 * b)
    )
    np.testing.assert_allclose(equation_of_time_min(days), printed, atol=0.027)


def test_solar_time_of_half_past_ten_at_madison():
    """D&B example 1.5.1 (from memory): Madison, 89.4 W, 3 February, 10:30 Central: 10:19 solar.

    Printed to the minute: half a minute.
    """
    clock = (34 - 1) * 24 + 10.5
    solar = float(solar_hours(clock, longitude_deg=-89.4, utc_offset_h=-6.0))
    assert (solar % 24.0) * 60.0 == pytest.approx(10 * 60 + 19, abs=0.5)


def test_noon_is_where_pvlibs_ephemeris_has_it():
    """The sun's transit by pvlib's SPA, Greensboro, every day of 2015, within 50 s.

    Spencer's series is at most 35 s off (0.0025 rad: Iqbal, An Introduction to Solar Radiation,
    section 1.4, from memory), and is for no year in particular: half a day of the leap cycle at up
    to 30 s a day is 15 s.
    """
    days = pd.date_range("2015-01-01 12:00", periods=365, freq="D", tz="Etc/GMT+5")
    transit = pvlib.solarposition.sun_rise_set_transit_spa(days, 36.1, -79.95)["transit"]
    clock = np.arange(365) * 24.0 + np.array(
        [t.hour + t.minute / 60.0 + t.second / 3600.0 for t in transit]
    )
    solar = solar_hours(clock, longitude_deg=-79.95, utc_offset_h=-5.0)
    np.testing.assert_allclose(solar % 24.0, 12.0, atol=50.0 / 3600.0)


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize(
    ("tilt", "azimuth", "year_within", "month_within"),
    [(0.0, 180.0, 0.001, 0.01), (30.0, 180.0, 0.02, 0.04), (60.0, 120.0, 0.03, 0.06)],
)
def test_light_on_a_plane_against_pvlib(name, tilt, azimuth, year_within, month_within):
    """The file in solar hours on a plane, against pvlib's isotropic sky on the clock's hours.

    pvlib takes the sun at the middle of each clock hour by its own ephemeris and the file's own
    beam; ours takes global less diffuse, at the middle of each solar hour. The level plane is the
    file's own light, so its year must be kept; a month's last hours and days keep it within 1 %.
    """
    table, meta = pvlib.iotools.read_tmy3(FILES[name], map_variables=True, coerce_year=2015)
    middle = table.index - pd.Timedelta(minutes=30)
    position = pvlib.solarposition.get_solarposition(middle, meta["latitude"], meta["longitude"])
    theirs = pvlib.irradiance.get_total_irradiance(
        tilt,
        azimuth,
        position["zenith"].to_numpy(),
        position["azimuth"].to_numpy(),
        table["dni"].to_numpy(),
        table["ghi"].to_numpy(),
        table["dhi"].to_numpy(),
        albedo=0.2,
        model="isotropic",
    )["poa_global"]
    if tilt == 0.0:
        theirs = table["ghi"].to_numpy()
    found = read_weather_file(FILES[name])
    ours = plane_of_array(
        found.weather, latitude_deg=found.latitude_deg, tilt_deg=tilt, azimuth_deg=azimuth
    )
    theirs = np.asarray(theirs)
    assert ours.sum() == pytest.approx(theirs.sum(), rel=year_within)
    np.testing.assert_allclose(
        np.bincount(MONTH, ours), np.bincount(MONTH, theirs), rtol=month_within
    )
