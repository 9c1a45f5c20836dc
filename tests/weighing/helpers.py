"""A case in which cheap and premium packs pass, alone and in parallel."""

from typing import Any

from tco.case import Case
from tests.conftest import PLAIN, build_plain_case

PACK = PLAIN["candidates"][0]
ROOM = {"max_packs": 2, "largest_bank_over_need": 20.0}
"""Assumptions that let two packs stand in parallel though one holds the need."""


def pack(name: str, price: float, **changes: Any) -> dict[str, Any]:
    return {**PACK, "name": name, "price": price, "calendar_life_years": 12.0, **changes}


def build_two_packs(**changes: Any) -> Case:
    """A cheap, a middling and a premium pack, alike in everything but price and life."""
    given = {
        "candidates": [
            pack("Cheap 100", 200.0, rated_cycles=1500.0),
            pack("Middling 100", 400.0, rated_cycles=3000.0),
            pack("Premium 100", 900.0, rated_cycles=6000.0),
        ],
        "assumptions": ROOM,
        "prices": {"currency": "CHF"},
    }
    return build_plain_case(**{**given, **changes})
