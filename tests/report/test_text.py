"""The comparison as text: widths, units, order, and finding an arrangement by name."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tco import Comparison, compare, read_case
from tco.case import Case
from tco.report.inputs.text import assumed_values, case_text
from tco.report.shown_units import shown
from tco.report.text import arrangement_text, comparison_text, find

DEMO = Path(__file__).resolve().parents[2] / "candidates_demo"


@pytest.fixture(scope="module")
def coldharbour() -> Comparison:
    return compare(read_case(DEMO / "coldharbour.toml"))


@pytest.fixture(scope="module")
def otterbank() -> Comparison:
    return compare(read_case(DEMO / "otterbank.toml"))


def test_no_line_is_wider_than_100_columns(coldharbour: Comparison, otterbank: Comparison) -> None:
    for comparison in (coldharbour, otterbank):
        texts = [comparison_text(comparison)]
        texts += [arrangement_text(comparison, result) for result in comparison.results]
        for text in texts:
            assert max(map(len, text.splitlines())) <= 100
            assert all(c.isprintable() for line in text.splitlines() for c in line)


def test_long_names_and_large_sums_stay_within_the_width(plain_case: Callable[..., Case]) -> None:
    case = plain_case(
        candidate={"name": "Long\n\x1b[31m " + "x" * 100, "price": 9e6},
        prices={"currency": "ducats"},
    )
    comparison = compare(case)
    text = comparison_text(comparison)
    assert max(map(len, text.splitlines())) <= 100
    assert "\x1b" not in text
    for result in comparison.results:
        assert f"({result.arrangement.layout})" in text


def test_ruled_out_ones_follow_with_what_they_fail_on(otterbank: Comparison) -> None:
    text = comparison_text(otterbank)
    above, below = text.split("Ruled out, with the requirements they fail on:")
    flat = " ".join(below.split())
    for rank, result in enumerate(otterbank.results, start=1):
        if result.feasible:
            assert result.arrangement.label in above
        else:
            names = "; ".join(c.requirement for c in result.screening.failures())
            assert f"{rank} {result.arrangement.label} {names}" in flat


def test_unknown_ones_are_marked(plain_case: Callable[..., Case]) -> None:
    text = comparison_text(compare(plain_case(candidate={"width_mm": None})))
    assert "? 1 × Plain 100 (1S1P)" in text
    assert "?: something is not stated (space)." in " ".join(text.split())


def test_metric_and_imperial_masses_and_lengths(coldharbour: Comparison) -> None:
    best = coldharbour.results[0]
    row = next(
        line for line in comparison_text(coldharbour).splitlines() if re.match(r" *1  1 ", line)
    )
    pounds = best.arrangement.mass_kg / 0.45359237
    assert f"  {pounds:.0f}  " in row
    for result in coldharbour.results:
        text = arrangement_text(coldharbour, result).split("Not stated by the shop")[0]
        text = text.replace("0 degC, 32 degF", "")
        assert not re.search(r"[0-9] (kg|mm|degC|m)\b(?![/2])", text), text
        assert " AWG" in text
    metric = replace(coldharbour, case=coldharbour.case.model_copy(update={"units": "metric"}))
    assert f"mass: {best.arrangement.mass_kg:.0f} kg of the" in arrangement_text(metric, best)


@pytest.mark.parametrize(
    ("value", "unit", "difference", "expected"),
    [
        (0.45359237, "kg", False, (1.0, "lb")),
        (25.4, "mm", False, (1.0, "in")),
        (0.3048, "m", False, (1.0, "ft")),
        (100.0, "degC", False, (212.0, "degF")),
        (-40.0, "degC", False, (-40.0, "degF")),
        (5.0, "degC", True, (9.0, "degF")),
        (7.0, "A", False, (7.0, "A")),
    ],
)
def test_imperial_values(
    value: float, unit: str, difference: bool, expected: tuple[float, str]
) -> None:
    got = shown(value, unit, imperial=True, difference=difference)
    assert got == (pytest.approx(expected[0]), expected[1])
    assert shown(value, unit, imperial=False) == (value, unit)


def test_find(otterbank: Comparison) -> None:
    third = otterbank.results[2]
    for wanted in ("3", third.arrangement.label, third.arrangement.label.replace("×", "x").upper()):
        assert find(otterbank, wanted) is third
    only = otterbank.results[0].arrangement
    part = f"{only.packs} x {only.pack.name}"
    assert find(otterbank, f" {part} ") is otterbank.results[0]
    for wrong in ("0", "56", "-1", "", "nothing like it"):
        with pytest.raises(LookupError):
            find(otterbank, wrong)
    with pytest.raises(LookupError, match="There is no candidate yet: add"):
        find(replace(otterbank, results=()), "1")


def test_ledger_by_item_adds_up(otterbank: Comparison) -> None:
    for result in otterbank.results[:12]:
        text = arrangement_text(otterbank, result)
        block = text[text.index("\nLedger over") :].split("\n\n")[0].splitlines()[2:]
        amount = r" +(-?[\d,]+\.\d\d)"
        found = [
            [float(figure.replace(",", "")) for figure in match.groups()]
            for line in block
            if (match := re.match(rf"  \S.*?{3 * amount}$", line))
        ]
        assert len(found) == len({row.item for row in result.ledger}) + 1
        whole = [
            sum(row.amount for row in result.ledger),
            sum(row.constant for row in result.ledger),
            result.measures.total_cost,
        ]
        for column, total in enumerate(whole):
            kind = [line[column] for line in found]
            assert sum(kind[:-1]) == pytest.approx(kind[-1], abs=0.005 * len(kind))
            assert kind[-1] == pytest.approx(total, abs=0.005)


def test_the_ledger_says_when_and_in_which_money(otterbank: Comparison) -> None:
    text = " ".join(arrangement_text(otterbank, otterbank.results[0]).split())
    for words in (
        "Year 0, the day of purchase: buying",
        "Each year's end: energy",
        "A replacement: at its moment",
        "Year 10, the last day: resale",
        "inflation of 2.0% a year taken out (real)",
        "discounted to year 0 at 4.0% a year (nominal rate)",
        "a level yearly amount (annuity)",
    ):
        assert words in text
    assert "today's money" not in text


def test_both_a_day_and_an_hour_at_a_price_are_pointed_out(otterbank: Comparison) -> None:
    priced = otterbank.case.prices.model_copy(update={"hour_without_power_price": 3.0})
    case = otterbank.case.model_copy(update={"prices": priced})
    words = "an hour 3.00 on top of it"
    assert words in comparison_text(replace(otterbank, case=case))
    assert words not in comparison_text(otterbank)
    assert words in " ".join(case_text(case, None).split())


def test_assumed_values_are_those_not_stated(plain_case: Callable[..., Case]) -> None:
    found = assumed_values(plain_case())
    assert "assumptions.credibility = 0.8" in found
    assert "system.conductor_sizes = mm2" in found
    assert "loads.quantity = 1 (lamp)" in found
    assert not any(
        entry.startswith(("assumptions.horizon_years", "loads.power_w")) for entry in found
    )
    stated = assumed_values(plain_case(assumptions={"credibility": 0.8}))
    assert set(found) - set(stated) == {"assumptions.credibility = 0.8"}


def test_case_text_names_gaps_and_doubts(plain_case: Callable[..., Case]) -> None:
    text = case_text(plain_case(candidate={"heater_w": None, "usable_depth": 1.0}), None)
    assert "heater_w: 0: no heater mentioned" in text
    assert "A usable depth of 100 %" in text
    assert "Doubtful" in text
    assert "Doubtful" not in case_text(plain_case(candidates=[]), None)


def test_why_says_how_long_the_warranty_lasts_or_why_not(
    plain_case: Callable[..., Case],
) -> None:
    def told(**changes: Any) -> str:
        found = compare(plain_case(candidate={"warranty_years": 5.0}, **changes))
        text = arrangement_text(found, found.results[0])
        return " ".join(text.partition("\nWarranty\n")[2].partition("\n\n")[0].split())

    held = told()
    assert held.startswith("In this use the warranty ends after 5.0 years.")
    assert held.endswith("commercial use is covered.")
    row = {"candidate": "Plain 100", "operating_min_degc": 40.0}
    void = told(warranties=[row])
    assert void.startswith("The warranty does not hold in this use. The space gets as cold as ")
    assert "the warranty asks for 40 degC or more" in void
    assert "asks for 104.0 degF or more" in told(warranties=[row], units="imperial")


def test_check_lists_what_is_taken_for_granted_of_warranties(
    plain_case: Callable[..., Case],
) -> None:
    said = "warranties without terms: the buyer pays the freight of a claim"
    pack = {"warranty_years": 5.0}
    assert said in case_text(plain_case(candidate=pack), None)
    earns = " ".join(case_text(plain_case(candidate=pack, use={"commercial": True}), None).split())
    assert "commercial use is covered (yours is commercial: ask the maker in writing)" in earns
    typed = [{"candidate": "Plain 100", "freight_paid_by": "maker"}]
    assert "warranties without" not in case_text(plain_case(candidate=pack, warranties=typed), None)
    assert "warranties without" not in case_text(plain_case(), None)
