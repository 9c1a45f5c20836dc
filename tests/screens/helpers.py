"""Cases for the screens, and what a screen shows."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest import mock

import tomli_w
from streamlit.testing.v1 import AppTest

from tco.case.toml import case_from_mapping, case_to_mapping, parse_toml
from tco.screens import fields, opening, state
from tco.workspace.desk import new_desk
from tco.workspace.document import document_of
from tco.workspace.reading import read

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
    "after_purchase",
    "prices",
)

Opened = Callable[..., AppTest]


def from_text(text: str) -> state.Workspace:
    """A workspace as opening the TOML text of a case would give."""
    case = case_from_mapping(parse_toml(text))
    document = document_of(case_to_mapping(case))
    desk = new_desk(opening.store(), document)
    return state.Workspace(desk=desk, reading=read(document, document))


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
    return next(g.key for name, g in held(app).grids.items() if f"{name} ".startswith(f"{path} "))


def type_into_grid(app: AppTest, path: str, **edits: Any) -> AppTest:
    """Edit a grid as the browser reports it: edited_rows, added_rows, deleted_rows.

    A report holds everything done to the grid since it was made. AppTest runs no `on_change` of an
    editor, so it is called as Streamlit would.
    """
    key = grid_key(app, path)
    report = {"edited_rows": {}, "added_rows": [], "deleted_rows": [], **edits}
    return report_to_grid(app, key, report)


def report_to_grid(app: AppTest, key: str, report: dict[str, Any]) -> AppTest:
    """Give a grid a report, and let the screen answer."""
    workspace = held(app)
    with mock.patch.object(fields.st, "session_state", {state.KEY: workspace, key: report}):
        fields.grid_typed(key)
    return app.run()


def field_key(app: AppTest, path: str) -> str:
    """Session key of a field of the case."""
    return held(app).fields[tuple(path.split("."))].key


def shown_problems(app: AppTest) -> str:
    """All text of the tables and messages of a screen that say what is wrong."""
    tables = [table.value.to_csv() for table in app.table]
    return "\n".join([*(str(e.value) for e in app.error), *tables]).replace("\\", "")
