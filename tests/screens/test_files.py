"""Opening and saving cases and tables."""

from tco.case import Case
from tco.case.toml import case_from_mapping, case_to_mapping, case_to_toml, parse_toml
from tco.forms.shop_table import rows_of_table
from tco.screens import opening, state
from tests.screens.helpers import ROOT, Opened, changed, from_text, held, pack, shown_problems

DEMO = ROOT / "candidates_demo"
ONE_BAD_ROW = (
    "Model,Type,Voltage (V),Capacity (Ah),Size (mm),Weight (lb),Price\n"
    "Good,LiFePO4,12.8,100,330 x 172 x 215,24.3,€ 219\n"
    "Bad,LiFePO4,12.8,plenty,330 x 172 x 215,24.3,€ 219\n"
)


def opened_case(monkeypatch: object, toml: bytes, table: bytes | None) -> object:
    session: dict[str, object] = {}
    monkeypatch.setattr(state.st, "session_state", session)  # type: ignore[attr-defined]
    files = ("c.toml", toml), ("c.csv", table) if table is not None else None
    return opening.open_files(*files), session.get("workspace")  # type: ignore[arg-type]


def test_a_case_with_its_table_beside_it(monkeypatch: object) -> None:
    toml = (DEMO / "otterbank.toml").read_bytes()
    table = (DEMO / "otterbank_candidates.csv").read_bytes()
    problems, workspace = opened_case(monkeypatch, toml, table)
    assert problems == ()
    assert isinstance(workspace, state.Workspace)
    assert len(workspace.case.candidates) == table.decode().count("\n") - 1


def test_a_missing_table_is_asked_for(monkeypatch: object) -> None:
    toml = (DEMO / "otterbank.toml").read_bytes()
    problems, workspace = opened_case(monkeypatch, toml, None)
    assert "otterbank_candidates.csv" in str(problems[0])
    assert workspace is None


def test_files_that_are_no_case_are_refused_with_a_reason(monkeypatch: object) -> None:
    for junk in (b"\xff\xfe\x00", b"= =", b"title = 3", b"\x00\x01", b""):
        problems, workspace = opened_case(monkeypatch, junk, None)
        assert problems, junk
        assert workspace is None


def test_a_bad_row_is_opened_as_typed(monkeypatch: object) -> None:
    toml = changed("otterbank").encode()
    problems, workspace = opened_case(monkeypatch, toml, ONE_BAD_ROW.encode())
    assert problems == ()
    assert isinstance(workspace, state.Workspace)
    assert [row["name"] for row in workspace.rows(("candidates",))] == ["Good", "Bad"]
    assert any("plenty" in str(problem) for problem in workspace.problems)


def test_a_saved_case_opens_equal(opened: Opened) -> None:
    for demo in opening.DEMOS:
        case = held(opened("answer", demo)).case
        again = case_from_mapping(parse_toml(case_to_toml(case)))
        assert again.model_copy(update={"candidates_file": None}) == case.model_copy(
            update={"candidates_file": None}
        )


def test_rows_with_mistakes_come_as_typed() -> None:
    rows, problems = rows_of_table(ONE_BAD_ROW)
    assert [row["name"] for row in rows] == ["Good", "Bad"]
    bad = rows[1]
    assert bad["capacity_ah"] == "plenty"
    assert bad["mass_kg"] == "24.3 lb"
    assert bad["height_mm"] == "215 mm"
    assert len(problems) == 1
    mended = Case.model_validate(
        {
            **case_to_mapping(from_text(changed("otterbank")).case),
            "candidates": [rows[0], {**bad, "capacity_ah": "100"}],
        }
    )
    first, second = mended.candidates
    assert second.model_copy(update={"name": "Good"}) == first


def test_a_pasted_table_goes_into_the_grid(opened: Opened) -> None:
    app = opened("candidates", changed("otterbank", candidates=[pack("Old")]))
    app.text_area(key="shop paste").set_value(ONE_BAD_ROW).run()
    next(b for b in app.button if b.label == "Put them into the grid").click().run()
    assert not app.exception
    assert [row["name"] for row in held(app).rows(("candidates",))] == ["Old", "Good", "Bad"]
    assert "plenty" in shown_problems(app)


def test_windows_text_is_read() -> None:
    assert opening.decoded("Preis €".encode("cp1252")) == "Preis €"
    assert opening.decoded("Preis €".encode("utf-16")) == "Preis €"
