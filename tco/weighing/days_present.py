"""From weekend user to full-timer: the days a year on which somebody is aboard."""

from collections.abc import Callable, Sequence
from typing import TypeVar

from tco.case import Case
from tco.case.use import EngineCharger, Shore, Solar, Sources
from tco.physics.weather import MONTH_LENGTHS
from tco.weighing.drivers import Driver

LENGTHS = tuple(int(length) for length in MONTH_LENGTHS)
YEAR_DAYS = sum(LENGTHS)
WEEKEND_DAYS = 30.0
"""Days a year of somebody who is there on a weekend now and then. Our choice."""


def days_present(case: Case) -> float:
    """Days a year on which somebody is there."""
    return sum(_present(case))


def _present(case: Case) -> list[float]:
    """Days with somebody there, by month."""
    return [
        length - min(away, float(length)) if month in case.use.months_in_use else 0.0
        for month, (length, away) in enumerate(
            zip(LENGTHS, case.use.days_away_per_month, strict=True), start=1
        )
    ]


def with_days_present(case: Case, days: float) -> Case:
    """The case with somebody there on so many days a year, and all else as it is.

    Fewer days are taken from every month in use in proportion. More days first fill the months in
    use, each by the same share of its days away; then laid-up months come into use one after the
    other, those beside the season first and of two alike the warmer one. In such a month the
    climate and the loads are its own, but it is lived in as in the nearest month of the season:
    driven, hooked up and parked in the sun at least as much. Our choice; a barn in winter says
    nothing of where somebody would stand who lives aboard.

    Raises
    ------
    ValueError
        Unless 0 <= days <= 365.
    """
    if not 0.0 <= days <= YEAR_DAYS:
        raise ValueError(f"days must be from 0 to {YEAR_DAYS}, got {days:g}")
    present = _present(case)
    now, used = sum(present), case.use.months_in_use
    if days == now:
        return case
    added: list[int] = []
    if days < now:
        present = [here * days / now for here in present]
    else:
        room = [(LENGTHS[m] - here) if m + 1 in used else 0.0 for m, here in enumerate(present)]
        share = min(1.0, (days - now) / sum(room)) if sum(room) > 0 else 1.0
        present = [here + share * more for here, more in zip(present, room, strict=True)]
        for month in _next_months(case):
            left = days - sum(present)
            if left <= 1e-9:
                break
            present[month - 1] = min(float(LENGTHS[month - 1]), left)
            added.append(month)
    away = tuple(
        max(0.0, length - here) if month in (*used, *added) else stated
        for month, (length, here, stated) in enumerate(
            zip(LENGTHS, present, case.use.days_away_per_month, strict=True), start=1
        )
    )
    use = case.use.model_copy(
        update={"days_away_per_month": away, "months_in_use": tuple(sorted((*used, *added)))}
    )
    return case.model_copy(update={"use": use, "sources": _lived_in(case, added)})


def _lived_in(case: Case, added: list[int]) -> Sources:
    """The sources with the months that come into use lived in as their nearest in the season."""
    like = {month - 1: _nearest(case, month) - 1 for month in added}
    sources = case.sources

    def taken(values: Sequence[float], better: Callable[[float, float], float]) -> list[float]:
        return [
            better(value, values[like[month]]) if month in like else value
            for month, value in enumerate(values)
        ]

    def running(months: Sequence[int]) -> tuple[int, ...]:
        more = [month + 1 for month, season in like.items() if season + 1 in months]
        return tuple(sorted({*months, *more}))

    return sources.model_copy(
        update={
            "solar": _with(sources.solar, "shade", lambda s: taken(s.shade, min)),
            "engine": _with(sources.engine, "hours_per_day", lambda s: taken(s.hours_per_day, max)),
            "shore": _with(
                sources.shore, "nights_per_month", lambda s: taken(s.nights_per_month, max)
            ),
            "generator": tuple(
                s.model_copy(update={"months": running(s.months)}) for s in sources.generator
            ),
        }
    )


S = TypeVar("S", Solar, EngineCharger, Shore)


def _with(sources: tuple[S, ...], field: str, values: Callable[[S], list[float]]) -> tuple[S, ...]:
    return tuple(s.model_copy(update={field: tuple(values(s))}) for s in sources)


def _nearest(case: Case, month: int) -> int:
    """The month in use nearest to a month, of two alike the warmer one."""
    used = case.use.months_in_use
    return min(used, key=lambda m: (_apart(month, m), -case.climate.mean_degc[m - 1]))


def _apart(month: int, other: int) -> int:
    step = abs(month - other)
    return min(step, 12 - step)


def _next_months(case: Case) -> list[int]:
    """Months not in use, in the order in which a longer season takes them in."""

    laid_up = [month for month in range(1, 13) if month not in case.use.months_in_use]
    return sorted(
        laid_up, key=lambda m: (_apart(m, _nearest(case, m)), -case.climate.mean_degc[m - 1])
    )


def days_present_driver(case: Case) -> Driver:
    """Days of presence a year, from a weekend user to a full-timer."""
    now = days_present(case)

    def words(days: float) -> str:
        return f"{days:.0f} days a year"

    return Driver(
        "days of presence", "days a year", min(WEEKEND_DAYS, now), float(YEAR_DAYS), now,
        with_days_present, words,
        lambda days, above: f"somebody is there {'more' if above else 'less'} than {words(days)}",
    )  # fmt: skip
