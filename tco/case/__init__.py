"""What the user tells us: the models of a case, and reading and writing them."""

from tco.case.candidate import Candidate, specify
from tco.case.case import Case
from tco.case.pack import Pack
from tco.case.plausibility import doubts, price_doubts
from tco.case.prices import Assumptions, Prices
from tco.case.problems import CaseError, Problem
from tco.case.system import Inverter, Space, System
from tco.case.table import (
    candidates_to_csv,
    parse_candidates,
    parse_rows,
    read_candidates,
    write_candidates,
)
from tco.case.toml import case_from_mapping, case_to_toml, read_case, write_case
from tco.case.use import Climate, Load, Sources, Use

__all__ = [
    "Assumptions",
    "Candidate",
    "Case",
    "CaseError",
    "Climate",
    "Inverter",
    "Load",
    "Pack",
    "Prices",
    "Problem",
    "Sources",
    "Space",
    "System",
    "Use",
    "candidates_to_csv",
    "case_from_mapping",
    "case_to_toml",
    "doubts",
    "parse_candidates",
    "parse_rows",
    "price_doubts",
    "read_candidates",
    "read_case",
    "specify",
    "write_candidates",
    "write_case",
]
