"""What a ceiling kept from being tried, in a sentence."""

from tco.compare import Comparison

MOST_NAMED = 3


def untried(comparison: Comparison) -> str:
    """Which candidates could make larger banks than were tried, and what stopped them; "" for none.

    Banks too heavy or too large for the space, or larger than `largest_bank_over_need` times the
    need, are not meant.
    """
    groups: dict[str, list[str]] = {}
    for one in comparison.left_out:
        if one.ceiling == "max_packs":
            why = f"more than {one.at} packs or blocks ({LARGEST})"
        else:
            why = f"more than {one.at} in parallel (assumed, as the shop states no limit)"
        groups.setdefault(why, []).append(one.candidate)
    if not groups:
        return ""
    clauses = "; ".join(f"{why}: {_named(names)}" for why, names in groups.items())
    return f"Not tried: {clauses}."


LARGEST = "the largest bank tried, an assumption of the case"


def _named(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    named = ", ".join(names[:MOST_NAMED])
    return f"{named} and {more} more" if more > 0 else named
