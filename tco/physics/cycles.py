"""Rainflow cycle counting, ASTM E1049-85 section 5.4.4, fast enough for an hourly year.

Every function here is compiled with numba and can be called from another compiled kernel. The
first and the last sample of a series count as turning points, as in the standard's example.
"""

import numpy as np

from tco.physics.arrays import FloatArray
from tco.physics.compiled import compiled

DEPTH_TOLERANCE = 1e-9
"""By how much a depth may exceed 1 through rounding before it is an error."""

NOTHING, HALF, WHOLE = 0, 1, 2


@compiled
def turning_points(series: FloatArray, points: FloatArray) -> int:
    """Write the peaks and valleys of a series into a buffer and return how many there are.

    The first and last samples are included; a plateau gives one point. A series shorter than two
    samples or without any change has no turning points.

    Parameters
    ----------
    series
        Samples in order, one dimension. Any unit.
    points
        Buffer at least as long as the series; overwritten.

    Raises
    ------
    ValueError
        If the buffer is too short or a sample is not a finite number.
    """
    size = series.size
    if points.size < size:
        raise ValueError("the buffer must be at least as long as the series")
    if size == 0:
        return 0

    total = series[0]  # not finite as soon as one sample is not: the check costs one addition
    last = series[0]
    start = 1
    while start < size and series[start] == last:
        start += 1
    rising = start < size and series[start] > last

    points[0] = last
    count = 1
    for index in range(start, size):
        value = series[index]
        total += value
        if value != last and (value > last) != rising:
            points[count] = last
            count += 1
            rising = not rising
        last = value
    if not np.isfinite(total):
        raise ValueError("every sample of the series must be a finite number")
    if start == size:
        return 0
    points[count] = last
    return count + 1


@compiled
def _closing(stack: FloatArray, top: int) -> int:
    """Say whether the last range closes the one before it (E1049 5.4.4, steps 2 to 5).

    The starting point S of the standard is always the bottom of the stack.
    """
    if top < 3:
        return NOTHING
    latest = abs(stack[top - 1] - stack[top - 2])
    previous = abs(stack[top - 2] - stack[top - 3])
    if latest < previous:
        return NOTHING
    return HALF if top == 3 else WHOLE


@compiled
def _discard(stack: FloatArray, top: int, closed: int) -> int:
    """Take the points of a counted range off the stack and return the new top."""
    if closed == HALF:  # step 5: the first point goes, S moves to the second
        stack[0] = stack[1]
        stack[1] = stack[2]
        return 2
    stack[top - 3] = stack[top - 1]  # step 4: peak and valley go, the newest point stays
    return top - 2


@compiled
def count_cycles(
    series: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Count the cycles of a series by the rainflow method.

    ASTM E1049-85 (reapproved 2017), section 5.4.4, steps 1 to 6.

    Parameters
    ----------
    series
        Samples in order, one dimension. Any unit.

    Returns
    -------
    ranges, means, counts
        Three arrays of equal length, one entry per counted range in the order of counting: peak
        to valley distance and middle (unit of the series), and 1.0 for a cycle or 0.5 for half a
        cycle. Empty for a series shorter than two samples or without any change.

    Raises
    ------
    ValueError
        If a sample is not a finite number.
    """
    stack = np.empty(series.size, dtype=np.float64)
    points = turning_points(series, stack)
    ranges = np.empty(max(points - 1, 0), dtype=np.float64)
    means = np.empty_like(ranges)
    counts = np.empty_like(ranges)
    found = 0
    top = 0
    for index in range(points):  # the stack never outgrows what has been read: one buffer does
        stack[top] = stack[index]
        top += 1
        while True:
            closed = _closing(stack, top)
            if closed == NOTHING:
                break
            ranges[found] = abs(stack[top - 2] - stack[top - 3])
            means[found] = 0.5 * (stack[top - 2] + stack[top - 3])
            counts[found] = 0.5 if closed == HALF else 1.0
            found += 1
            top = _discard(stack, top, closed)
    for index in range(top - 1):  # step 6: what is left counts half
        ranges[found] = abs(stack[index + 1] - stack[index])
        means[found] = 0.5 * (stack[index + 1] + stack[index])
        counts[found] = 0.5
        found += 1
    return ranges[:found].copy(), means[:found].copy(), counts[:found].copy()


@compiled
def _rate_at(table: FloatArray, depth: float) -> float:
    """Interpolate a table given on an even grid of depth from 0 to 1."""
    place = min(depth, 1.0) * (table.size - 1)
    lower = min(int(place), table.size - 2)
    return table[lower] + (place - lower) * (table[lower + 1] - table[lower])


@compiled
def sum_points(points: FloatArray, count: int, table: FloatArray) -> tuple[float, float]:
    """Return what `cycle_sums` does, from turning points that are found already.

    The first `count` of `points`, states of charge from 0 to 1, are overwritten. Nothing is
    checked.
    """
    full_cycles = 0.0
    weighted = 0.0
    top = 0
    for index in range(count):
        points[top] = points[index]
        top += 1
        while True:
            closed = _closing(points, top)
            if closed == NOTHING:
                break
            depth = abs(points[top - 2] - points[top - 3])
            share = 0.5 * depth if closed == HALF else depth
            full_cycles += share
            weighted += share * _rate_at(table, depth)
            top = _discard(points, top, closed)
    for index in range(top - 1):
        depth = abs(points[index + 1] - points[index])
        full_cycles += 0.5 * depth
        weighted += 0.5 * depth * _rate_at(table, depth)
    return full_cycles, weighted


@compiled
def cycle_sums(series: FloatArray, stack: FloatArray, table: FloatArray) -> tuple[float, float]:
    """Return the full cycle equivalents of a series and their sum weighted by a rate.

    Rainflow cycles (ASTM E1049-85, 5.4.4) of a state-of-charge series, without keeping them. The
    second value over the first is the mean rate per full cycle equivalent.

    Parameters
    ----------
    series
        State of charge in order, one dimension. [fraction]
    stack
        Scratch buffer at least as long as the series; overwritten, so it can be used again.
    table
        Rate at depths evenly spaced from 0 to 1 (both included), at least two values;
        interpolated linearly. Any unit.

    Returns
    -------
    full_cycles
        Sum of count x depth, which is half the distance the series travels. [full cycles]
    weighted
        Sum of count x depth x rate(depth). [full cycles x unit of the table]

    Raises
    ------
    ValueError
        If the buffer is too short, a sample is not finite, the table has fewer than two values,
        or a cycle is deeper than 1.
    """
    if table.size < 2:
        raise ValueError("the table needs at least two values: depth 0 and depth 1")
    points = turning_points(series, stack)
    if points > 0 and stack[:points].max() - stack[:points].min() > 1.0 + DEPTH_TOLERANCE:
        raise ValueError("a cycle is deeper than 1: the series must be a state of charge, 0 to 1")
    return sum_points(stack, points, table)


@compiled
def weighted_cycle_sum(series: FloatArray, stack: FloatArray, table: FloatArray) -> float:
    """Return the sum over rainflow cycles of count x depth x rate(depth).

    The second value of `cycle_sums`, with the same parameters and errors.
    """
    return cycle_sums(series, stack, table)[1]
