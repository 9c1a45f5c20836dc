"""Whether the packs fit, as a check."""

from collections.abc import Iterable, Sequence

from tco.bank.checks.check import Check
from tco.bank.fit.fittings import FUSE_REACH_MM, fittings, without_room
from tco.bank.fit.models import Compartment, FitResult
from tco.bank.fit.spread import TOGETHER, Spread
from tco.case import System
from tco.sentences import metres, mm, says


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


def check_fuse_room(
    result: FitResult | None, compartments: Sequence[Compartment], *, strings: int, busbars: bool
) -> Iterable[Check]:
    """Check that fuses and busbars find room within reach of the terminals.

    A caution where no place was found. No check where the packs themselves have no places.
    """
    if result is None or not result.fits:
        return
    pieces = fittings(strings=strings, busbars=busbars)
    lacking = without_room(tuple(compartments), result.layout, pieces)
    reach = says("within ", mm(FUSE_REACH_MM), " of the terminals")
    value, limit = float(len(pieces) - len(lacking)), float(len(pieces))
    if not lacking:
        reason = says("fuse holders find room ", reach, " beside the packs" if strings == 1 else
                      " beside the packs, and so do busbars")  # fmt: skip
        yield Check("fuse_room", value, limit, "pieces", 0.0, "pass", reason)
        return
    reason = says(
        f"beside the packs no room was found for {_listed(lacking)} ", reach, ": take fuses that "
        "bolt onto the terminal, or have them on the other side of the nearest wall with the cable "
        "to them in conduit, as far as the local code and the makers allow it; an unfused cable "
        "that chafes is a fire",
    )  # fmt: skip
    yield Check("fuse_room", value, limit, "pieces", value - limit, "caution", reason)


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
