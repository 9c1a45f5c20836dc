"""Whether the packs fit, as a check."""

from tco.bank.checks.check import Check
from tco.bank.fit.models import FitResult
from tco.bank.fit.spread import TOGETHER, Spread
from tco.case import System
from tco.sentences import metres, says


def check_space(
    result: FitResult | None, *, spread: Spread = TOGETHER, system: System | None = None
) -> Check:
    """Check that the packs fit; the margin is minus the smallest move of a wall that would do.

    A caution where they stand in several spaces of a `system` and cables run between these.
    """
    if result is None:
        reason = "the dimensions are not stated; ask for them before buying"
        return Check("space", None, None, "mm", None, "unknown", reason)
    if result.fits:
        if system is None or spread == TOGETHER:
            return Check("space", 0.0, 0.0, "mm", 0.0, "pass", result.reason)
        assumed = " (assumed)" if system.between_spaces_m is None else ""
        what = "a series link takes" if spread.split else "the strings' leads take"
        reason = says(
            result.reason, f"; between the spaces {what} ", metres(system.link_between_spaces_m),
            f"{assumed} more, through walls: in conduit, where nothing chafes or crushes it. Packs "
            "that are not equally warm share unevenly and age apart",
        )  # fmt: skip
        return Check("space", 0.0, 0.0, "mm", 0.0, "caution", reason)
    short = result.shortfall_mm
    margin = None if short is None else -short
    return Check("space", short, 0.0, "mm", margin, "fail", result.reason)
