"""One requirement checked on an arrangement, and all of them together."""

from dataclasses import dataclass
from typing import Literal

from tco.bank.fit_models import FitResult

Verdict = Literal["pass", "caution", "fail", "unknown"]

ROUNDING = 1e-9


@dataclass(frozen=True)
class Check:
    """One requirement. `margin` is in `unit`; above zero there is room, below it is short.

    `value` and `limit` are None where a check has no number.
    """

    requirement: str
    value: float | None
    limit: float | None
    unit: str
    margin: float | None
    verdict: Verdict
    reason: str


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

    def failures(self) -> tuple[Check, ...]:
        """The checks that rule the arrangement out."""
        return tuple(check for check in self.checks if check.verdict == "fail")


def plain_check(requirement: str, verdict: Verdict, reason: str) -> Check:
    """Check without a number."""
    return Check(requirement, None, None, "", None, verdict, reason)


def limit_check(
    requirement: str,
    value: float,
    limit: float,
    unit: str,
    *,
    at_least: bool,
    good: str,
    bad: str,
    short: Verdict = "fail",
) -> Check:
    """Check a value against a limit, which itself still passes; `short` is the verdict beyond."""
    margin = value - limit if at_least else limit - value
    fails = margin < -ROUNDING
    return Check(
        requirement, value, limit, unit, margin, short if fails else "pass", bad if fails else good
    )
