"""One requirement checked on an arrangement, and all of them together."""

from dataclasses import dataclass
from typing import Literal

from tco.bank.fit.models import FitResult

Verdict = Literal["pass", "caution", "fail", "unknown"]

ROUNDING = 1e-9

REQUIREMENTS = {
    "voltage": "voltage",
    "charging_voltage": "charging voltage",
    "inverter_cutoff": "charge above the inverter's cut-off",
    "packs_in_series": "packs in series",
    "number_of_packs": "number of packs",
    "energy": "energy in the worst month, worn",
    "space": "space",
    "fuse_room": "room for fuses and bars",
    "mass": "mass",
    "lifting": "lifting one pack",
    "continuous_current": "continuous current",
    "surge_current": "surge current",
    "surge_voltage": "voltage left in a surge",
    "inverter_load": "loads behind the inverter",
    "inverter_start": "starting behind the inverter",
    "charge_current": "charge current",
    "charge_current_together": "charge current, together",
    "charging_in_the_cold": "charging in the cold",
    "use_in_the_cold": "use in the cold",
    "charge_profile": "charge profile",
    "cell_voltages_visible": "per-cell voltages",
    "charge_display": "state-of-charge display",
    "low_temperature_cutoff": "low-temperature cut-off",
    "cell_management": "cell management",
    "cell_assembly": "building with bare cells",
    "alternator": "alternator",
    "ventilation": "ventilation",
    "wiring": "cables and fuses",
    "hours_without_power": "hours without power, simulated",
}
"""Each check by its key, and what people read."""


@dataclass(frozen=True)
class Check:
    """One requirement. `margin` is in `unit`; above zero there is room, below it is short.

    `key` is one of REQUIREMENTS, `of` the charger it is about where each has its own check.
    `value` and `limit` are None where a check has no number.
    """

    key: str
    value: float | None
    limit: float | None
    unit: str
    margin: float | None
    verdict: Verdict
    reason: str
    of: str = ""

    @property
    def requirement(self) -> str:
        """What people read: its name, and the charger it is about."""
        name = REQUIREMENTS[self.key]
        return f"{name}, {self.of}" if self.of else name


@dataclass(frozen=True)
class Screening:
    """All checks of one arrangement, and where its packs would stand (None: not known)."""

    checks: tuple[Check, ...]
    fit: FitResult | None

    @property
    def feasible(self) -> bool:
        """No check fails."""
        return all(check.verdict != "fail" for check in self.checks)

    @property
    def verified(self) -> bool:
        """Feasible, and nothing left unknown."""
        return all(check.verdict in ("pass", "caution") for check in self.checks)

    def check(self, key: str, of: str = "") -> Check:
        """The check with a key. Raises KeyError where the case has no such check."""
        for check in self.checks:
            if (check.key, check.of) == (key, of):
                return check
        raise KeyError((key, of))

    def failures(self) -> tuple[Check, ...]:
        """The checks that rule the arrangement out."""
        return tuple(check for check in self.checks if check.verdict == "fail")


def plain_check(key: str, verdict: Verdict, reason: str, *, of: str = "") -> Check:
    """Check without a number."""
    return Check(key, None, None, "", None, verdict, reason, of)


def limit_check(
    key: str,
    value: float,
    limit: float,
    unit: str,
    *,
    at_least: bool,
    good: str,
    bad: str,
    short: Verdict = "fail",
    of: str = "",
) -> Check:
    """Check a value against a limit, which itself still passes; `short` is the verdict beyond."""
    margin = value - limit if at_least else limit - value
    fails = margin < -ROUNDING
    return Check(
        key, value, limit, unit, margin, short if fails else "pass", bad if fails else good, of
    )
