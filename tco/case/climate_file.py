"""A case whose climate comes from a weather file: filled when it is read, relative when written.

In a case in memory the file's path is absolute, so that it stays right wherever the case goes;
in a TOML file it is relative to that file's folder.
"""

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from tco.case.base import accept_units
from tco.case.problems import CaseError, Problem
from tco.case.times import MONTHS
from tco.case.use import Climate
from tco.case.weather_file import WeatherFile, climate_values, read_weather_file

_FIELD = "climate.weather_file"
_LOCATION = ("climate", "weather_file")
_AGREEMENT = {
    "latitude_deg": (0.1, "degrees"),
    "mean_degc": (0.1, "degC"),
    "min_degc": (0.1, "degC"),
    "max_degc": (0.1, "degC"),
    "irradiation_kwh_per_m2_day": (0.02, "kWh/m2 a day"),
}
"""How far values stated beside the file may be from its own: rounding by hand."""


def with_weather_file(
    data: Mapping[str, Any], *, folder: Path | None, file: str = ""
) -> tuple[dict[str, Any], WeatherFile | None, tuple[Problem, ...]]:
    """Plain data of a case with its climate filled from the weather file it names, if it does.

    What the climate states itself stays, and is compared by `disagreements`. Where the file
    cannot be read its problems come back, and the data as it was.

    Parameters
    ----------
    folder
        Where a relative path starts; None where there is no such place.
    file
        Name of the case's file, for the messages.
    """
    out = dict(data)
    climate = data.get("climate")
    if isinstance(climate, Climate):
        climate = climate.model_dump(exclude_unset=True, exclude_none=True)
    if not isinstance(climate, Mapping):
        return out, None, ()
    named = climate.get("weather_file")
    if not isinstance(named, str) or not named.strip():
        return out, None, ()
    path = Path(named.strip())
    if folder is None and not path.is_absolute():
        problem = Problem(
            "cannot be found, since the folder of the case is not known",
            file=file,
            field=_FIELD,
            given=repr(named),
            mend="Open the weather file itself, or give its whole path.",
            location=_LOCATION,
        )
        return out, None, (problem,)
    try:
        path = Path(os.path.abspath((folder or Path()) / path))
        weather_file = read_weather_file(path)
    except CaseError as error:
        return out, None, tuple(replace(p, location=_LOCATION) for p in error.problems)
    except ValueError as error:  # a zero byte in the path
        problem = Problem(
            str(error), file=file, field=_FIELD, given=repr(named), location=_LOCATION
        )
        return out, None, (problem,)
    stated = accept_units(Climate, climate)
    filled = {k: v for k, v in climate_values(weather_file).items() if k not in stated}
    out["climate"] = {**climate, **filled, "weather_file": str(path)}
    return out, weather_file, ()


def filled_by_file(problem: Problem) -> bool:
    """Whether a problem is only that something is missing which the weather file would give."""
    fields = {f"climate.{name}" for name in _AGREEMENT}
    return problem.what == "is missing" and problem.field in fields


def disagreements(
    climate: Climate, weather_file: WeatherFile, *, file: str = ""
) -> tuple[Problem, ...]:
    """What a climate states beside its weather file that is not what the file says."""
    problems = []
    for name, (allowed, unit) in _AGREEMENT.items():
        stated, known = getattr(climate, name), getattr(weather_file, name)
        single = not isinstance(stated, tuple)
        pairs = [(stated, known)] if single else list(zip(stated, known, strict=True))
        for month, (ours, theirs) in enumerate(pairs):
            if abs(ours - theirs) > allowed:
                when = "" if single else f" in {MONTHS[month]}"
                problems.append(
                    Problem(
                        f"is not what the weather file says{when}",
                        file=file,
                        field=f"climate.{name}",
                        given=f"{ours:g} {unit}",
                        allowed=f"{theirs:g}, or nothing",
                        mend="Remove it (the file gives it), or remove weather_file.",
                        location=("climate", name) if single else ("climate", name, month),
                    )
                )
                break
    return tuple(problems)


def relative_weather_file(data: dict[str, Any], folder: Path) -> None:
    """Make the weather file's path in plain data of a case relative to a folder, where it can be.

    It stays absolute where there is no way from one to the other (another drive).
    """
    climate = data.get("climate")
    if not isinstance(climate, dict) or not climate.get("weather_file"):
        return
    try:
        way = os.path.relpath(climate["weather_file"], os.path.abspath(folder))
    except ValueError:
        return
    data["climate"] = {**climate, "weather_file": Path(way).as_posix()}
