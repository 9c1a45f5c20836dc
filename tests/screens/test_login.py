"""Where a login is set up, cases belong to who is logged in."""

from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from tco.screens import opening
from tests.screens.helpers import ROOT, field_key, held

WHO: dict[str, Any] = {}


class User(dict[str, Any]):
    def __getattr__(self, name: str) -> Any:
        try:
            return self[name]
        except KeyError:
            raise AttributeError(name) from None


@pytest.fixture
def user(monkeypatch: pytest.MonkeyPatch) -> User:
    somebody = User()
    monkeypatch.setattr(opening.st, "user", somebody)
    return somebody


def opened(address: str = "") -> AppTest:
    app = AppTest.from_file(str(ROOT / "tco/screens/prices.py"), default_timeout=60)
    if address:
        app.query_params["case"] = address
    return app.run()


def test_without_a_login_nobody_is_asked(user: User) -> None:
    app = opened()
    assert app.text_input
    assert held(app).desk.owner == ""


def test_where_there_is_a_login_it_is_asked_for(user: User) -> None:
    user["is_logged_in"] = False
    app = opened()
    assert not app.text_input
    assert [button.label for button in app.button] == ["Log in"]


def test_cases_are_listed_and_opened_for_their_owner_only(user: User) -> None:
    user.update(is_logged_in=True, email="one@example.org")
    app = opened()
    app.text_input(key=field_key(app, "title")).set_value("Of one").run()
    address = held(app).desk.case_id
    assert opening.store().read(address, owner="one@example.org").info.title == "Of one"
    assert held(opened(address)).case.title == "Of one"
    user.update(email="other@example.org")
    other = opened(address)
    assert not other.exception
    assert held(other).case.title == "The Otterbank"
    assert address not in {info.id for info in opening.store().cases(owner="other@example.org")}


def test_a_case_stays_its_owners_whatever_becomes_of_the_address(user: User) -> None:
    """OpenID Connect Core 1.0, 5.7: `sub` with `iss` tells people apart; an e-mail does not."""
    user.update(is_logged_in=True, iss="https://one.example", sub="7", email="boat@example.org")
    app = opened()
    app.text_input(key=field_key(app, "title")).set_value("Of seven").run()
    address = held(app).desk.case_id
    user.update(email="new@example.org")
    assert held(opened(address)).case.title == "Of seven"
    user.update(sub="8", email="boat@example.org")
    assert held(opened(address)).case.title == "The Otterbank"
