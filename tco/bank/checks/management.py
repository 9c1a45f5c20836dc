"""Whether something watches every cell and can disconnect the bank."""

from collections.abc import Iterable, Sequence

from tco.bank.arrangements import Arrangement
from tco.bank.checks.check import Check, plain_check
from tco.bank.wiring.external_management import Wanted, needs_external


def check_management(arrangement: Arrangement, wanted: Sequence[Wanted] | None) -> Iterable[Check]:
    """Every cell is watched by something that can disconnect the bank, or the bank is ruled out.

    `wanted` as `wanted_parts` gives it; None where the bank cannot be wired at all.
    """
    chemistry = arrangement.pack.chemistry
    if not chemistry.cell_management:
        return
    block = arrangement.pack.block
    if not needs_external(arrangement):
        what = "the pack" if block is None or block.unit is None else block.unit.name
        yield plain_check(
            "cell_management", "pass", f"{what} watches its cells and disconnects by itself"
        )
        return
    if wanted is None:
        yield plain_check(
            "cell_management", "unknown", "the pack has none, and the bank cannot be wired"
        )
        return
    lacking = [one for one in wanted if one.price is None]
    if lacking:
        parts = " and ".join(f"{one.quantity} × {one.part}" for one in lacking)
        yield plain_check(
            "cell_management",
            "fail",
            f"nothing watches its cells or can disconnect it: {parts} lacking. "
            + (
                "Take a pack with its own management"
                if block is None
                else f"Give a management unit for {block.series} cells in series"
            )
            + ", or list the external one among the installed parts, or state its price to have "
            "it bought",
        )
        return
    bought = " and ".join(f"{one.quantity} × {one.part}" for one in wanted)
    yield plain_check(
        "cell_management",
        "caution",
        "the pack has none of its own: an external one, a unit for each string, opens a contactor"
        + (f" ({bought} in the wiring bill)" if bought else "")
        + "; match it to the cells, fuse every cell tap, and see it open before the first charge; "
        "follow the makers of cells and management",
    )
