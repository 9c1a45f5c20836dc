"""Scaling an ageing model so that it agrees with a datasheet at the datasheet's own conditions.

The two claims a datasheet makes, cycles and years, rarely come from one test; the rules for
reconciling them are our choice and stand in `anchor_naumann`.
"""

import math
from dataclasses import dataclass

from tco.physics.ageing import (
    HOURS_PER_YEAR,
    NAUMANN_REFERENCE_DEGC,
    SECONDS_PER_YEAR,
    naumann_calendar_loss,
    naumann_cycle_loss,
)

SMALLEST_CYCLE_SHARE = 0.05
"""Share of the datasheet's loss that cycling keeps when calendar ageing would take more than the
rest. Our choice: a datasheet's cycle life must leave something to the cycles."""


@dataclass(frozen=True)
class Anchor:
    """Multipliers on the two terms of an ageing model: loss = sum of scale x unscaled term."""

    calendar_scale: float
    cycle_scale: float


def anchor_naumann(
    *,
    rated_cycles: float,
    rated_depth: float,
    end_of_life: float,
    calendar_life_years: float | None,
    calendar_end_of_life: float | None = None,
    credibility: float = 1.0,
    test_c_rate: float = 0.5,
    test_temperature_degc: float = 25.0,
    calendar_soc: float = 0.5,
) -> Anchor:
    """Return the scales that make the Naumann models agree with a datasheet.

    The test behind a datasheet's cycle life is taken to be one cycle after another without rest,
    each lasting 2 x depth / rate hours, at one temperature. With the scales returned,
    calendar_scale x `naumann_calendar_loss` + cycle_scale x `naumann_cycle_loss` over that test
    is exactly 1 - end_of_life after rated_cycles x credibility cycles.

    Without a calendar life the calendar term stays as published (scale 1): a low claim of cycles
    says nothing of shelf life. With one, calendar ageing alone at 25 degC and calendar_soc reaches
    calendar_end_of_life after that many years x credibility: a claim of years is believed no
    further than one of cycles. Either way cycling takes the rest of the test's loss. If calendar
    ageing would take more than 95 % of it, the two claims do not fit together: then cycling keeps
    5 %, and the calendar term is scaled down to 95 %, so the calendar life comes out longer than
    stated and the cycle life stays exact.

    Parameters
    ----------
    rated_cycles, rated_depth
        The datasheet's cycles, and their depth above 0 and at most 1. [-], [fraction]
    end_of_life
        Capacity left at the end of the rated cycles, between 0 and 1. [fraction]
    calendar_life_years
        The datasheet's calendar life, or None where it gives none. [years of 365 days]
    calendar_end_of_life
        Capacity left at the end of the calendar life; None: that of the cycles. [fraction]
    credibility
        Share of the rated cycles, and of the calendar life, that is believed. [-]
    test_c_rate
        Current of the test over the capacity. [1/h]
    test_temperature_degc
        Temperature of the test. [degC]
    calendar_soc
        State of charge of calendar ageing, in the test and in storage. [fraction]

    Raises
    ------
    ValueError
        If an argument is out of its range; the message names it.
    """
    _check_claim(
        rated_cycles, rated_depth, (end_of_life, calendar_end_of_life), calendar_life_years,
        credibility,
    )  # fmt: skip
    _check_positive(test_c_rate=test_c_rate)
    if not 0.0 <= calendar_soc <= 1.0:
        raise ValueError("calendar_soc must be in 0 to 1")
    cycles = rated_cycles * credibility
    test_s = cycles * 2.0 * rated_depth / test_c_rate * 3600.0
    claimed = 1.0
    if calendar_life_years is not None:
        life_s = calendar_life_years * credibility * SECONDS_PER_YEAR
        stored = float(naumann_calendar_loss(NAUMANN_REFERENCE_DEGC, calendar_soc, life_s))
        claimed = (1.0 - (calendar_end_of_life or end_of_life)) / stored
    return _share_out(
        loss=1.0 - end_of_life,
        calendar_in_test=float(naumann_calendar_loss(test_temperature_degc, calendar_soc, test_s)),
        cycling_in_test=float(naumann_cycle_loss(test_c_rate, rated_depth, cycles * rated_depth)),
        calendar_claimed=claimed,
    )


def anchor_power(
    *,
    rated_cycles: float,
    rated_depth: float,
    end_of_life: float,
    calendar_life_years: float | None,
    calendar_end_of_life: float | None = None,
    cycle_loss_per_cycle: float,
    calendar_loss_per_year: float,
    exponent: float = 1.0,
    credibility: float = 1.0,
    test_c_rate: float = 0.5,
    test_calendar_factor: float = 1.0,
) -> Anchor:
    """Return the scales that make a power law of time and cycles agree with a datasheet.

    The same rules as `anchor_naumann`, for loss = calendar_scale x calendar_loss_per_year x
    (speed of time x years)^exponent + cycle_scale x cycle_loss_per_cycle x cycles^exponent.

    Parameters
    ----------
    rated_cycles, rated_depth, end_of_life, credibility, test_c_rate
    calendar_life_years, calendar_end_of_life
        As in `anchor_naumann`.
    cycle_loss_per_cycle
        Unscaled loss of the first cycle of the rated depth, above zero. [fraction]
    calendar_loss_per_year
        Unscaled loss of the first year at 25 degC, above zero. [fraction]
    exponent
        Power of time and of cycles; 1: straight lines. [-]
    test_calendar_factor
        Speed of time in calendar ageing at the temperature of the test over that at 25 degC. [-]

    Raises
    ------
    ValueError
        If an argument is out of its range; the message names it.
    """
    _check_claim(
        rated_cycles, rated_depth, (end_of_life, calendar_end_of_life), calendar_life_years,
        credibility,
    )  # fmt: skip
    _check_positive(
        cycle_loss_per_cycle=cycle_loss_per_cycle,
        calendar_loss_per_year=calendar_loss_per_year,
        exponent=exponent,
        test_c_rate=test_c_rate,
        test_calendar_factor=test_calendar_factor,
    )
    cycles = rated_cycles * credibility
    test_years = cycles * 2.0 * rated_depth / test_c_rate / HOURS_PER_YEAR
    claimed = 1.0
    if calendar_life_years is not None:
        stored = calendar_loss_per_year * (calendar_life_years * credibility) ** exponent
        claimed = (1.0 - (calendar_end_of_life or end_of_life)) / stored
    return _share_out(
        loss=1.0 - end_of_life,
        calendar_in_test=calendar_loss_per_year * (test_calendar_factor * test_years) ** exponent,
        cycling_in_test=cycle_loss_per_cycle * cycles**exponent,
        calendar_claimed=claimed,
    )


def _share_out(
    *,
    loss: float,
    calendar_in_test: float,
    cycling_in_test: float,
    calendar_claimed: float,
) -> Anchor:
    most = (1.0 - SMALLEST_CYCLE_SHARE) * loss
    calendar_scale = min(calendar_claimed, most / calendar_in_test)
    rest = loss - calendar_scale * calendar_in_test
    return Anchor(calendar_scale=calendar_scale, cycle_scale=rest / cycling_in_test)


def _check_claim(
    rated_cycles: float,
    rated_depth: float,
    ends_of_life: tuple[float, float | None],
    calendar_life_years: float | None,
    credibility: float,
) -> None:
    _check_positive(rated_cycles=rated_cycles, credibility=credibility)
    if not 0.0 < rated_depth <= 1.0:
        raise ValueError("rated_depth must be above 0 and at most 1")
    for name, end in zip(("end_of_life", "calendar_end_of_life"), ends_of_life, strict=True):
        if end is not None and not 0.0 < end < 1.0:
            raise ValueError(f"{name} must be between 0 and 1")
    if calendar_life_years is not None:
        _check_positive(calendar_life_years=calendar_life_years)


def _check_positive(**values: float) -> None:
    for name, value in values.items():
        if not 0.0 < value < math.inf:
            raise ValueError(f"{name} must be finite and above zero")
