"""Capacity tests of one bank, and what is said of the bank they were made on."""

from collections.abc import Iterator
from datetime import date

from pydantic import Field

from tco.case.candidate import OtherColumns
from tco.case.quantities import (
    ChemistryKey,
    Clash,
    Model,
    Name,
    NonNegative,
    Positive,
    ShareAboveZero,
    Temperature,
    Text,
    cross_check,
)


class CapacityTest(Model):
    """One full discharge: what came out, and in which conditions.

    `measured_ah` and `current_a` are those of the whole bank, unless the log's `rated_ah` is that
    of the one pack that was tested. The voltages are of single cells, in the order of the rows of
    the maker's display, or of the blocks of a lead-acid string.
    """

    tested_on: date
    measured_ah: Positive
    temperature_degc: Temperature | None = None
    current_a: Positive | None = None
    end_voltage_v: Positive | None = None
    cell_voltages_v: tuple[Positive, ...] = ()
    note: Text = ""
    other: OtherColumns = Field(default_factory=dict)


class CapacityLog(Model):
    """The tests of one bank in the order of the file, and what is said of the bank.

    What is None is not stated: the caller asks, or takes it from the case. `remarks` are the `#`
    lines that state nothing. `warranty_health` is the health the maker warrants to the end of
    `warranty_years`.
    """

    candidate: Name | None = None
    strings: int | None = Field(default=None, ge=1)
    bought: date | None = None
    rated_ah: Positive | None = None
    chemistry: ChemistryKey | None = None
    warranty_years: NonNegative | None = None
    warranty_health: ShareAboveZero | None = None
    old_bank: bool = False
    remarks: tuple[Text, ...] = ()
    tests: tuple[CapacityTest, ...] = Field(min_length=1)

    @cross_check
    def _not_tested_before_bought(self) -> Iterator[Clash]:
        if self.bought is None:
            return
        for number, test in enumerate(self.tests, start=1):
            if test.tested_on < self.bought:
                yield Clash(
                    "tests",
                    f"has test {number} on {test.tested_on}, before the battery was bought "
                    f"({self.bought})",
                    "Check both dates.",
                )

    @cross_check
    def _as_many_cells_in_each(self) -> Iterator[Clash]:
        counts = {len(test.cell_voltages_v) for test in self.tests} - {0}
        if len(counts) > 1:
            yield Clash(
                "tests",
                f"has tests of {' and '.join(map(str, sorted(counts)))} cells",
                "Give every cell of a test or none.",
            )

    @cross_check
    def _one_bank(self) -> Iterator[Clash]:
        if self.old_bank and self.candidate is not None:
            yield Clash(
                "candidate",
                "is named in a log of the old bank",
                "Leave out the candidate, or the line that says it is the old bank.",
            )
