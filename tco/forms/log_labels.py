"""What the fields of a log of capacity tests are called where people read and type them."""

LOG_LABELS = {
    "tested_on": "Date",
    "measured_ah": "Measured Ah",
    "temperature_degc": "Temperature",
    "current_a": "Discharge current",
    "end_voltage_v": "Stopped at",
    "cell_voltages_v": "Cells",
    "note": "Remark",
    "candidate": "Battery",
    "strings": "Strings",
    "bought": "Bought",
    "rated_ah": "Rated Ah",
    "chemistry": "Chemistry",
    "warranty_years": "Warranty",
    "warranty_health": "Warranted health",
    "old_bank": "Old bank",
}
"""What the fields of a log of capacity tests are called."""
