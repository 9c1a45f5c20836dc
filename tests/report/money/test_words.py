"""What an item of the ledger comes to over the years, in words."""

from tco.case import Prices
from tco.money.ledger import LedgerRow
from tco.report.money.words import by_item, kinds_of_money, reason_over_the_years, timing
from tco.sentences import told


def row(year: float, amount: float, quantity: float | None = None, **more: str) -> LedgerRow:
    words = {"item": "days without power", "reason": f"{quantity} days lost × 40.00"}
    given = {**words, "unit": "days lost", **more}
    return LedgerRow(
        year=year, amount=amount, constant=amount, present=amount, quantity=quantity, **given
    )


def test_many_years_are_told_by_total_range_and_the_dearest() -> None:
    """The reason fits the amount: not that of the first year, which has next to nothing."""
    rows = [row(1, 0.0, 0.0), row(2, 40.0, 1.0), row(3, 200.0, 5.0), row(4, 120.0, 3.0)]
    assert reason_over_the_years(rows) == (
        "9.0 days lost in all, 0 (year 1) to 5.0 (year 3). Most in year 3: 5.0 days lost × 40.00"
    )


def test_the_same_each_year_is_said_once() -> None:
    rows = [row(year, 40.0 + year, 1.0) for year in range(1, 6)]
    assert reason_over_the_years(rows).startswith("5.0 days lost in all, 1.0 each time. Most in")


def test_masses_over_the_years_are_told_in_the_units_of_the_reader() -> None:
    rows = [row(year, 20.0 * year, 10.0 * year, unit="kg", reason="scrap") for year in range(1, 5)]
    said = reason_over_the_years(rows)
    assert said == "100 kg in all, 10.0 (year 1) to 40.0 (year 4). Most in year 4: scrap"
    pounds = "220 lb in all, 22 (year 1) to 88 (year 4). Most in year 4: scrap"
    assert told(said, "imperial") == pounds


def test_what_cannot_be_counted_is_told_in_money() -> None:
    rows = [row(year, -4.0 - year) for year in range(1, 6)]
    said = reason_over_the_years(rows)
    assert said.startswith("5 times, -9.00 (year 5) to -5.00 (year 1). Most in year 5: ")


def test_a_few_times_are_told_one_by_one() -> None:
    rows = [row(3.25, 900.0, 2.0, reason="worn"), row(7.5, 990.0, 2.0, reason="worn")]
    assert reason_over_the_years(rows) == "year 3.2: worn; year 7.5: worn"
    assert reason_over_the_years([row(0, 1.0, 1.0, reason="bought")]) == "bought"


def test_sources_of_one_item_are_kept_apart() -> None:
    shore = {"item": "shore power", "reason": "x"}
    two = [row(1, 5.0, 1.0, source="marina", **shore), row(1, 9.0, 1.0, source="camp", **shore)]
    assert list(by_item(two)) == ["shore power: marina", "shore power: camp"]
    assert list(by_item(two[:1])) == ["shore power"]


def test_conventions_have_the_case_s_own_figures() -> None:
    assert "Year 7.5, the last day: resale" in timing(7.5)
    words = kinds_of_money(Prices(discount_rate=0.045, inflation=0.021))
    assert "4.5%" in words
    assert "2.1%" in words
