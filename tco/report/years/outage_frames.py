"""What goes short in a bank's years, what was tried, and what the cold takes."""

import numpy as np
import pandas as pd

from tco.case import Case
from tco.case.times import MONTHS
from tco.case.units import from_canonical
from tco.columns import NO_POWER
from tco.life.cures import WeakPoint
from tco.life.outages import Moment, Outages, one_in
from tco.life.year import Trace
from tco.report.frames import Figure
from tco.report.words import count
from tco.report.years.words import longest_words
from tco.result import Result
from tco.sentences import degc, says

MOST_OUTAGES = 200


def figures(result: Result, found: Outages) -> tuple[Figure, ...]:
    """The figures of the years first."""
    year = result.year
    lost, shut_out = year["solar_lost_wh"] / 1000.0, year["solar_locked_out_wh"] / 1000.0
    resting, resting_kwh = year["laid_up_locked_out_hours"], year["laid_up_heater_wh"] / 1000.0
    return (
        Figure(
            NO_POWER,
            f"{found.hours_without_power:,.1f} h a year",
            f"{one_in(found.share_of_years)}; {longest_words(found)}"
            if found.essential
            else f"in none of {count(found.years, 'weather year')}",
        ),
        Figure(
            "Energy missing",
            f"{found.essential_kwh_per_year:,.1f} kWh a year",
            f"of essential loads; {found.other_kwh_per_year:,.1f} of others",
        ),
        Figure(
            "Charging locked out",
            f"{year['locked_out_hours']:,.0f} h a year",
            "by cold or heat while in use, new bank, mean year"
            + (f"; {resting:,.0f} h more while laid up" if resting >= 0.5 else ""),
        ),
        Figure(
            "Heater eats",
            f"{year['heater_wh'] / 1000.0:,.1f} kWh a year",
            says(
                "while in use; coldest cells ",
                degc(year["coldest_degc"]),
                f"; {resting_kwh:,.1f} kWh more while laid up" if resting_kwh >= 0.05 else "",
            ),
        ),
        Figure(
            "Solar lost",
            f"{lost:,.0f} kWh a year",
            f"{shut_out:,.1f} kWh of it because charging was locked out while in use",
        ),
    )


def outage_list(found: Outages) -> pd.DataFrame:
    """Every outage in order of time."""
    return pd.DataFrame(
        [
            {
                "Weather year": outage.start.year,
                "From": moment_text(outage.start),
                "Hours": outage.hours,
                f"{NO_POWER} [h]": outage.hours_without_power,
                "Essential missing [kWh]": outage.essential_kwh,
                "Other missing [kWh]": outage.other_kwh,
            }
            for outage in found.outages[:MOST_OUTAGES]
        ]
    )


def moment_text(moment: Moment) -> str:
    """A moment as people say it.

    >>> moment_text(Moment(3, 1, 7, 18))
    '7 Jan, 18 h'
    """
    return f"{moment.day} {MONTHS[moment.month - 1]}, {moment.hour} h"


def by_month(found: Outages) -> pd.DataFrame:
    """Hours and energy short, and the chance of an outage, by month."""
    return pd.DataFrame(
        {
            "month": list(MONTHS),
            "hours": found.hours_by_month,
            "kwh": found.kwh_by_month,
            "chance": found.share_of_years_by_month,
        }
    )


def tried(weak: WeakPoint) -> pd.DataFrame:
    """Hours without power now, and with each thing that was tried."""
    names = {
        "battery": "twice the capacity",
        "charging": "twice the charging",
        "cold": "a space kept warm",
    }
    rows = [{"what": "as it is", "hours": weak.hours_without_power}]
    rows += [{"what": names[k], "hours": hours} for k, hours in weak.hours_with.items()]
    return pd.DataFrame(rows)


def cell_temperature(run: Trace, year: int, case: Case) -> pd.DataFrame:
    """Coldest and warmest hour of the cells on every day of a weather year, in the user's unit."""
    by_day = run.degc.reshape(-1, 365, 24)[year]
    imperial = case.units == "imperial"

    def shown(values: np.ndarray) -> list[float]:
        if not imperial:
            return [float(value) for value in values]
        return [from_canonical(float(value), "degc", "degf") for value in values]

    return pd.DataFrame(
        {
            "date": pd.date_range("2001-01-01", periods=365, freq="D"),
            "lowest": shown(by_day.min(axis=1)),
            "highest": shown(by_day.max(axis=1)),
        }
    )
