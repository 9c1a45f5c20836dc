"""What fits, in a sentence."""

from tco.compare import Comparison


def fits(comparison: Comparison) -> str:
    """How many arrangements meet everything, and what rules out most of the others."""
    results = comparison.results
    if not results:
        return "Nothing to check yet: add at least one candidate."
    counts: dict[str, int] = {}
    for result in results:
        for check in result.screening.failures():
            counts[check.requirement] = counts.get(check.requirement, 0) + 1
    passing = sum(1 for result in results if result.feasible)
    sentence = f"{passing} of {len(results)} arrangements meet every requirement"
    if not counts:
        return f"{sentence}."
    worst = sorted(counts.items(), key=lambda item: -item[1])[:2]
    told = " and ".join(f"{name} ({count})" for name, count in worst)
    return f"{sentence}; what rules out most is {told}."
