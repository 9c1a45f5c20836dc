"""What a failed pack does to a bank: power left, days without, a spare, a match that is gone.

Both sides of "one large or several small": n packs fail n times as often, each takes 1/n of the
money, and (in parallel) only 1/P of the power. Here packs fail independently at one rate; what a
delivery has in common is drawn with the rate (`tco.money.evidence.sample_rates`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import xlog1py

DAYS_PER_YEAR = 365.25

MOST_STEPS_OVER = 10
"""`expected_packs_bought` takes at most this many times the steps asked for."""


@dataclass(frozen=True)
class FailureEffects:
    """One year of a bank whose packs fail at one rate. Arrays have the shape of the rate.

    `share_left` is energy and current left with one pack dead; `cost_share` the part of the
    bank's price that the pack is. Days are per year, in the long run.
    """

    series: int
    parallel: int
    share_left: float
    cost_share: float
    failures_per_year: Any
    partial_days_per_year: Any
    dark_days_per_year: Any
    mean_share_lost: Any

    @property
    def packs(self) -> int:
        """Packs in the bank."""
        return self.series * self.parallel


def share_left(series: int, parallel: int, *, dead_strings: int = 1) -> float:
    """Share of energy and current left: a dead pack takes out its whole string, (P - dead)/P.

    Raises
    ------
    ValueError
        For fewer than one in series or parallel, or more dead strings than there are.
    """
    if series < 1 or parallel < 1 or not 0 <= dead_strings <= parallel:
        raise ValueError(f"no bank of {series}S{parallel}P with {dead_strings} dead strings")
    return (parallel - dead_strings) / parallel


def failure_effects(
    series: int, parallel: int, *, rate_per_pack_year: ArrayLike, repair_days: ArrayLike
) -> FailureEffects:
    """How often packs of a bank fail and what is left meanwhile.

    A string works while all its packs do (series model); strings fail and are mended apart from
    each other, so that the number that works is binomial. Partial power: at least one string and
    not all; dark: none.

    Parameters
    ----------
    series, parallel
        Packs in each string; strings.
    rate_per_pack_year
        Failures of one pack per year of work.
    repair_days
        From failure until the pack is replaced. [days]

    Raises
    ------
    ValueError
        For a rate or repair time below zero, or no packs.
    """
    left = share_left(series, parallel)
    rate = np.asarray(rate_per_pack_year, dtype=float)
    days = np.asarray(repair_days, dtype=float)
    if not (np.all(rate >= 0.0) and np.all(days >= 0.0)):
        raise ValueError("a failure rate or a repair time cannot be negative")
    packs = series * parallel
    # Up 1/rate, then down for the repair: a pack works the share 1/(1 + rate x repair) of the time
    # (tco.money.reliability.availability); written so that small rates keep their digits.
    repair = rate * days / DAYS_PER_YEAR
    up = 1.0 / (1.0 + repair)
    down = -np.expm1(-series * np.log1p(repair))
    dark = down**parallel
    partial = -np.expm1(xlog1py(parallel, -down)) - dark if parallel > 1 else np.zeros_like(down)
    return FailureEffects(
        series=series,
        parallel=parallel,
        share_left=left,
        cost_share=1.0 / packs,
        failures_per_year=(packs * rate * up)[()],
        partial_days_per_year=(DAYS_PER_YEAR * partial)[()],
        dark_days_per_year=(DAYS_PER_YEAR * dark)[()],
        mean_share_lost=down,
    )


def compare_layouts(
    layouts: Sequence[tuple[int, int]], *, rate_per_pack_year: float, repair_days: float
) -> tuple[FailureEffects, ...]:
    """The same pack rate and repair time in several layouts (series, parallel), side by side.

    One rate for a large pack and a small one holds where the board and its connections fail
    (one to a pack); where cells fail, a large pack has more of them and its rate should be stated
    higher.
    """
    return tuple(
        failure_effects(s, p, rate_per_pack_year=rate_per_pack_year, repair_days=repair_days)
        for s, p in layouts
    )


def outage_price_per_year(
    effects: FailureEffects, *, day_price: float, partial_day_share: float | None = None
) -> Any:
    """Cost of days with partial or no power. Money a year.

    A dark day costs `day_price`, a partial one `partial_day_share` of it; not stated, the share of
    the bank that is missing with one string dead (assumption: trouble grows with what is missing).
    """
    partial = 1.0 - effects.share_left if partial_day_share is None else partial_day_share
    return day_price * (effects.dark_days_per_year + partial * effects.partial_days_per_year)


@dataclass(frozen=True)
class SpareEffect:
    """A spare pack on the shelf. Days and money are per year."""

    holding_price: float
    dark_days_saved: Any
    partial_days_saved: Any
    outage_price_saved: Any

    @property
    def net_saving(self) -> Any:
        """Outage cost saved less the cost of holding the spare; below zero it does not pay."""
        return self.outage_price_saved - self.holding_price


def spare_on_the_shelf(
    series: int,
    parallel: int,
    *,
    rate_per_pack_year: ArrayLike,
    wait_days: ArrayLike,
    swap_days: ArrayLike,
    day_price: float,
    pack_price: float,
    discount_rate: float,
    shelf_loss_per_year: float,
) -> SpareEffect:
    """What one spare saves and costs: the wait becomes the time of a swap.

    Holding costs interest on its price and what it loses on the shelf (capacity, guarantee), both
    as a share of the price a year. That the spare is used up and must itself be replaced after the
    wait is left out: a second failure within one wait is rare at any rate worth buying.

    Raises
    ------
    ValueError
        When a swap takes longer than the wait, or as `failure_effects`.
    """
    if np.any(np.asarray(swap_days, dtype=float) > np.asarray(wait_days, dtype=float)):
        raise ValueError("a swap that takes longer than the wait saves nothing")
    without, with_spare = (
        failure_effects(series, parallel, rate_per_pack_year=rate_per_pack_year, repair_days=days)
        for days in (wait_days, swap_days)
    )
    return SpareEffect(
        holding_price=pack_price * (discount_rate + shelf_loss_per_year),
        dark_days_saved=without.dark_days_per_year - with_spare.dark_days_per_year,
        partial_days_saved=without.partial_days_per_year - with_spare.partial_days_per_year,
        outage_price_saved=outage_price_per_year(without, day_price=day_price)
        - outage_price_per_year(with_spare, day_price=day_price),
    )


def packs_to_buy(
    age_years: ArrayLike,
    *,
    packs: int,
    model_gone_after_years: float | None,
    kept_value: float = 0.0,
) -> Any:
    """Packs one failure costs at a bank's age: 1, or the whole bank once the model is gone.

    Packs of another model, or of another age, are not mixed in one bank (makers bar it, and
    current does not share evenly: common practice, no source). So a failure later than
    `model_gone_after_years` (None: never) replaces all `packs`, less `kept_value` (share of a
    pack's price) for each sound one that is sold. A single pack has nothing to match.

    Raises
    ------
    ValueError
        For no packs, a negative age, or a kept value outside 0 to 1.
    """
    age = np.asarray(age_years, dtype=float)
    if packs < 1 or not np.all(age >= 0.0) or not 0.0 <= kept_value <= 1.0:
        raise ValueError("needs at least one pack, an age from 0 and a kept value of 0 to 1")
    gone = np.inf if model_gone_after_years is None else model_gone_after_years
    return np.where(age >= gone, packs - (packs - 1) * kept_value, 1.0)[()]


def expected_packs_bought(
    rate_per_pack_year: ArrayLike,
    years: float,
    *,
    packs: int,
    model_gone_after_years: float | None,
    kept_value: float = 0.0,
    steps: int = 400,
) -> Any:
    """Packs bought for failures over the years, by the rule of `packs_to_buy`.

    Replacing all brings a current model, and its clock starts anew. With bank rate q = n r, gone
    age g and c packs for a whole bank: V(t) = q t up to g; then V(t) = q g + W(t - g), with
    dW/ds = q (c + V(s) - W). Stepped exactly in the exponential, V linear within a step.
    Divided by q t this is the cost factor of the match that is gone. A gone age under a tenth of
    a step (a day in ten years) counts as none: every failure then replaces all.

    Raises
    ------
    ValueError
        For a negative rate or time, no packs, or a kept value outside 0 to 1.
    """
    rate = np.asarray(rate_per_pack_year, dtype=float)
    if not (np.all(rate >= 0.0) and years >= 0.0):
        raise ValueError("a failure rate or a time cannot be negative")
    q = packs * rate
    gone = np.inf if model_gone_after_years is None else model_gone_after_years
    whole = float(packs_to_buy(0.0, packs=packs, model_gone_after_years=0.0, kept_value=kept_value))
    if years <= gone or packs == 1:
        return q * years
    if gone < years / (MOST_STEPS_OVER * steps):
        return whole * q * years
    # A whole number of steps to g, so that V at s is always a grid value; one past the end.
    to_gone = max(1, int(np.ceil(gone / years * steps)))
    step = gone / to_gone
    count = int(np.ceil(years / step - 1e-9))
    bought = [q * (step * i) for i in range(to_gone + 1)]
    later = np.zeros_like(q)
    decay = np.exp(-q * step)
    mean_decay = np.where(q > 0.0, -np.expm1(-q * step) / np.where(q > 0, q * step, 1.0), 1.0)
    for i in range(count - to_gone):
        start, end = whole + bought[i], whole + bought[i + 1]
        # integral over the step of q exp(-q (step - s)) (start + (end - start) s / step)
        later = decay * later + (1.0 - decay) * start + (end - start) * (1.0 - mean_decay)
        bought.append(q * gone + later)
    back = count * step - years  # linear within the last step
    return bought[count] + (bought[count - 1] - bought[count]) * (back / step)
