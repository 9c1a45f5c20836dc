"""Cases for the screens, and what a screen shows."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import tomli_w
from streamlit.testing.v1 import AppTest

from tco.case.toml import case_from_mapping, case_to_mapping, parse_toml
from tco.screens import state

ROOT = Path(__file__).resolve().parents[2]
SCREENS = (
    "answer",
    "system",
    "candidates",
    "evidence",
    "fits",
    "wiring",
    "years",
    "weigh",
    "kept",
    "prices",
)

Opened = Callable[..., AppTest]


def from_text(text: str) -> state.Workspace:
    """A workspace as opening the TOML text of a case would give."""
    case = case_from_mapping(parse_toml(text))
    return state.Workspace(raw=case_to_mapping(case), case=case, version=99)


def changed(demo: str, **changes: Any) -> str:
    """TOML text of a demo case with some of its sections replaced, candidates within."""
    folder = ROOT / "candidates_demo"
    data = tomllib.loads((folder / f"{demo}.toml").read_text(encoding="utf-8"))
    data.pop("candidates_file")
    for about_candidates in ("evidence", "marks", "warranties"):
        data.pop(about_candidates, None)
    data.update(changes)
    return tomli_w.dumps(data)


def pack(name: str, number: int = 0) -> dict[str, object]:
    """A 12.8 V candidate."""
    return {
        "name": name,
        "chemistry": "lfp",
        "nominal_voltage_v": 12.8,
        "capacity_ah": 100 + 10 * (number % 20),
        "price": 300 + number,
        "mass_kg": 11 + number % 5,
        "low_temperature_cutoff": True,
        "width_mm": 330,
        "depth_mm": 172,
        "height_mm": 215,
    }


def sentence(app: AppTest) -> str:
    """The sentence a screen opens with."""
    return str(app.subheader[0].value).replace("\\", "")


def held(app: AppTest) -> state.Workspace:
    """The workspace of the session."""
    workspace: state.Workspace = app.session_state["workspace"]
    return workspace


def grid_key(app: AppTest, path: str) -> str:
    """Session key of the editable grid of a list of the case."""
    return f"{held(app).version} {held(app).case.units} {path} grid"


def type_into_grid(app: AppTest, path: str, **edits: Any) -> AppTest:
    """Edit a grid as the browser reports it: edited_rows, added_rows, deleted_rows."""
    app.session_state[grid_key(app, path)] = {
        "edited_rows": {},
        "added_rows": [],
        "deleted_rows": [],
        **edits,
    }
    return app.run()


def field_key(app: AppTest, path: str) -> str:
    """Session key of a field of the case."""
    return f"{held(app).version} {held(app).case.units} {path}"


def shown_problems(app: AppTest) -> str:
    """All text of the tables and messages of a screen that say what is wrong."""
    tables = [table.value.to_csv() for table in app.table]
    return "\n".join([*(str(e.value) for e in app.error), *tables]).replace("\\", "")
