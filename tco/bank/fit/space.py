"""Whether the packs of an arrangement fit the spaces of a case, each with its own orientations.

In front of the terminals a space keeps free what its owner asks for (`clearance_top_mm`), and at
least the radius to which the thickest cable on a pack may be bent.
"""

from dataclasses import replace

from tco.bank.arrangements import Arrangement
from tco.bank.fit.fit import fit, shared_out
from tco.bank.fit.models import Box, Compartment, FitResult, PlacedBox
from tco.bank.fit.words import says_fits
from tco.case import Case, Space
from tco.case.system import Orientation
from tco.sentences import joined, mm, says

Poses = tuple[Orientation, ...]


def fit_in_spaces(
    case: Case, arrangement: Arrangement, *, bend_radius_mm: float = 0.0
) -> FitResult | None:
    """Find places for all packs; None where the dimensions are not stated.

    `bend_radius_mm`: of the thickest cable on a pack's terminal (`Circuit.bend_radius_mm`); the
    terminals keep at least as much free. Where not all packs fit, the reason says which smaller
    arrangement of the same pack does.

    A pack stands only as both its maker (upright where he says nothing) and the space allow.
    Spaces do not touch each other, so that those which allow the same are searched together and
    what each group holds is added up.
    """
    dimensions = arrangement.pack.dimensions_mm
    if dimensions is None:
        return None
    found = _find(case, arrangement, dimensions, bend_radius_mm)
    if found.fits:
        return found
    words: list[str] = [found.reason, _next_smaller(arrangement, found.fits_at_most)]
    if any(bend_radius_mm > space.clearance_top_mm for space in case.system.spaces):
        words.append(
            says(mm(bend_radius_mm), " are kept free at the terminals for the bend of the cable")
        )
    return replace(found, reason=joined("; ", words))


def compartments(case: Case, *, bend_radius_mm: float = 0.0) -> tuple[Compartment, ...]:
    """Spaces of the case as the search and the drawing take them."""
    return tuple(_compartment(space, bend_radius_mm) for space in case.system.spaces)


def _next_smaller(arrangement: Arrangement, at_most: int) -> str:
    """The largest arrangement with fewer strings that the space holds, in words; "" for none."""
    strings = min(at_most // arrangement.series, arrangement.parallel - 1)
    if strings < 1:
        return ""
    smaller = replace(arrangement, parallel=strings)
    return f"{smaller.layout} ({smaller.packs} {'pack' if smaller.packs == 1 else 'packs'}) fits"


def _find(
    case: Case,
    arrangement: Arrangement,
    dimensions: tuple[float, float, float],
    bend_radius_mm: float,
) -> FitResult:
    box, count = Box(*dimensions), arrangement.packs
    by_maker: Poses = arrangement.pack.orientations or ("upright",)
    groups: dict[Poses, list[Compartment]] = {}
    for space in case.system.spaces:
        both = tuple(pose for pose in by_maker if pose in space.orientations)
        if both:
            groups.setdefault(both, []).append(_compartment(space, bend_radius_mm))
    if not groups:
        return _no_way_to_stand(case, by_maker)
    if len(groups) == 1:
        poses, spaces = next(iter(groups.items()))
        return fit(box, count, spaces, orientations=poses, together=arrangement.series)
    return _over_groups(box, count, groups, together=arrangement.series)


def _over_groups(
    box: Box, count: int, groups: dict[Poses, list[Compartment]], *, together: int
) -> FitResult:
    alone = {poses: fit(box, count, spaces, orientations=poses) for poses, spaces in groups.items()}
    held = {poses: result.fits_at_most for poses, result in alone.items()}
    every = tuple(compartment for spaces in groups.values() for compartment in spaces)
    exact = all(result.exact for result in alone.values())
    at_most = min(count, sum(held.values()))
    layout: list[PlacedBox] = []
    given = shared_out(list(held.values()), at_most, together)
    for (poses, spaces), here in zip(groups.items(), given, strict=True):
        if here:
            placed = fit(box, here, spaces, orientations=poses, together=together)
            layout.extend(placed.layout)
    if at_most == count:
        words = says_fits(count, every, layout)
        return FitResult(True, exact, tuple(layout), 0.0, None, None, (), count, words)
    # the others being full, how far is each group from taking the rest?
    asked = {poses: count - sum(held.values()) + held[poses] for poses in groups}
    tries = {poses: fit(box, asked[poses], groups[poses], orientations=poses) for poses in groups}
    poses = min(
        tries,
        key=lambda p: (
            tries[p].shortfall_mm is None,
            tries[p].shortfall_mm or 0.0,
            sum(move.by_mm for move in tries[p].moves),
        ),
    )
    best = tries[poses]
    names = ", ".join(compartment.name for compartment in groups[poses])
    return FitResult(
        fits=False,
        exact=exact,
        layout=tuple(layout),
        shortfall_mm=best.shortfall_mm,
        compartment=best.compartment,
        wall=best.wall,
        moves=best.moves,
        fits_at_most=at_most,
        reason=says(
            f"{at_most} of {count} packs fit all spaces together; of the {asked[poses]} that would "
            f"have to stand in {names}: ",
            best.reason,
        ),
    )


def _compartment(space: Space, bend_radius_mm: float) -> Compartment:
    return Compartment(
        name=space.name,
        width_mm=space.width_mm,
        depth_mm=space.depth_mm,
        height_mm=space.height_mm,
        opening_a_mm=space.opening_width_mm,
        opening_b_mm=space.opening_height_mm,
        opening_side=space.opening_side,
        clearance_side_mm=space.clearance_side_mm,
        clearance_between_mm=space.clearance_between_mm,
        clearance_top_mm=max(space.clearance_top_mm, bend_radius_mm),
        stacking=space.stacking,
    )


def _no_way_to_stand(case: Case, by_maker: Poses) -> FitResult:
    spaces = {pose for space in case.system.spaces for pose in space.orientations}
    reason = f"the maker allows {_words(by_maker)} only, the space {_words(sorted(spaces))} only"
    return FitResult(False, True, (), None, None, None, (), 0, reason)


def _words(poses: tuple[Orientation, ...] | list[Orientation]) -> str:
    return " or ".join(pose.replace("_", " ") for pose in poses)
