"""Driving the screens without a browser."""

import pytest
from streamlit.testing.v1 import AppTest

from tco.screens import state
from tests.screens.helpers import ROOT, Opened, from_text


@pytest.fixture
def opened() -> Opened:
    """Opens a screen on a demo case, on an empty case (""), or on the text of a TOML file."""

    def open_screen(screen: str, case: str = "otterbank") -> AppTest:
        path = ROOT / "tco" / "screens" / f"{screen}.py"
        app = AppTest.from_file(str(path), default_timeout=60)
        app.run()
        if case in state.DEMOS:
            if case != "otterbank":
                app.button(key=f"demo {case}").click().run()
        elif not case:
            next(b for b in app.button if b.label == "Start an empty case").click().run()
        else:
            app.session_state["workspace"] = from_text(case)
            app.run()
        return app

    return open_screen
