"""Driving the screens without a browser."""

import pytest
from streamlit.testing.v1 import AppTest

from tco.screens import opening, state
from tests.screens.helpers import ROOT, Opened, from_text


@pytest.fixture
def opened() -> Opened:
    """Opens a screen on a demo case, on an empty case (""), or on the text of a TOML file."""

    def open_screen(screen: str, case: str = "otterbank") -> AppTest:
        path = ROOT / "tco" / "screens" / f"{screen}.py"
        app = AppTest.from_file(str(path), default_timeout=60)
        demo = case.replace("_", "-")
        if demo in opening.DEMOS or not case:
            app.query_params["case"] = demo or opening.NEW
            return app.run()
        app.run()
        workspace = from_text(case)
        app.session_state[state.KEY] = workspace
        app.query_params["case"] = workspace.desk.case_id
        app.run()
        return app

    return open_screen
