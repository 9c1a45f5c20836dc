"""Capacity tests of one bank, and what is said of the bank they were made on."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated

from pydantic import Field

from tco.case.base import Clash, Model, cross_check, rows_known
from tco.case.candidate import OtherColumns
from tco.case.quantities import (
    Age,
    Charge,
    ChemistryKey,
    CurrentAboveZero,
    Name,
    Positive,
    ShareAboveZero,
    Temperature,
    Text,
)

CellVoltage = Annotated[Positive, Field(le=20)]
"""Of a cell, or of a lead-acid block of 12 V while it is charged [V]."""


class CapacityTest(Model):
    """One full discharge: what came out, and in which conditions.

    `measured_ah` and `current_a` are those of the whole bank, unless the log's `rated_ah` is that
    of the one pack that was tested. The voltages are of single cells, in the order of the rows of
    the maker's display, or of the blocks of a lead-acid string.
    """

    tested_on: date
    measured_ah: Charge
    temperature_degc: Temperature | None = None
    current_a: CurrentAboveZero | None = None
    end_voltage_v: Positive | None = Field(default=None, le=1_000)
    cell_voltages_v: tuple[CellVoltage, ...] = ()
    note: Text = ""
    other: OtherColumns = Field(default_factory=dict)


class CapacityLog(Model):
    """The tests of one bank in the order of the file, and what is said of the bank.

    What is None is not stated: the caller asks, or takes it from the case. `remarks` are the `#`
    lines that state nothing. `warranty_health` is the health the maker warrants to the end of
    `warranty_years`.
    """

    candidate: Name | None = None
    strings: int | None = Field(default=None, ge=1, le=1_000)
    bought: date | None = None
    rated_ah: Charge | None = None
    chemistry: ChemistryKey | None = None
    warranty_years: Age | None = None
    warranty_health: ShareAboveZero | None = None
    old_bank: bool = False
    remarks: tuple[Text, ...] = ()
    tests: tuple[CapacityTest, ...] = Field(min_length=1)

    @cross_check
    def _not_tested_before_bought(self) -> Iterator[Clash]:
        if self.bought is None:
            return
        for place, (tested_on,) in rows_known(self.tests, "tested_on"):
            if tested_on < self.bought:
                yield Clash(
                    "tests",
                    f"is {tested_on}, before the battery was bought ({self.bought})",
                    "Check both dates.",
                    (place, "tested_on"),
                )

    @cross_check
    def _as_many_cells_in_each(self) -> Iterator[Clash]:
        counted = [
            (place, len(volts))
            for place, (volts,) in rows_known(self.tests, "cell_voltages_v")
            if volts
        ]
        for place, count in counted:
            if count != counted[0][1]:
                yield Clash(
                    "tests",
                    f"is of {count} cells, that of test {counted[0][0] + 1} of {counted[0][1]}",
                    "Give every cell of a test or none.",
                    (place, "cell_voltages_v"),
                )

    @cross_check
    def _one_bank(self) -> Iterator[Clash]:
        if self.old_bank and self.candidate is not None:
            yield Clash(
                "candidate",
                "is named in a log of the old bank",
                "Leave out the candidate, or the line that says it is the old bank.",
            )
