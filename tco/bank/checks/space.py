"""Whether the packs fit, as a check."""

from tco.bank.checks.check import Check
from tco.bank.fit.models import FitResult


def check_space(result: FitResult | None) -> Check:
    """Check that the packs fit; the margin is minus the smallest move of a wall that would do."""
    if result is None:
        reason = "the dimensions are not stated; ask for them before buying"
        return Check("space", None, None, "mm", None, "unknown", reason)
    if result.fits:
        return Check("space", 0.0, 0.0, "mm", 0.0, "pass", result.reason)
    short = result.shortfall_mm
    margin = None if short is None else -short
    return Check("space", short, 0.0, "mm", margin, "fail", result.reason)
