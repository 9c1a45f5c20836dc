"""Bad input: every problem at once, in words, with what was typed; never anything but CaseError."""

import copy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case import CaseError, Problem, read_candidates, read_case
from tco.case.cells import read_cell
from tco.case.table import parse_candidates, parse_rows
from tco.case.toml import case_from_mapping
from tco.case.units import UnitProblem

GOOD: dict[str, Any] = {
    "system": {
        "nominal_voltage_v": 24,
        "spaces": [{"name": "locker", "width_mm": 600, "depth_mm": 500, "height_mm": 400}],
    },
    "climate": {
        "latitude_deg": 51,
        "mean_degc": 9,
        "min_degc": 1,
        "max_degc": 20,
        "irradiation_kwh_per_m2_day": 1.5,
    },
}
HEAD = "name,chemistry,nominal_voltage_v,capacity_ah,price\n"


def case_problems(**sections: Any) -> list[Problem]:
    data = copy.deepcopy(GOOD)
    for key, value in sections.items():
        if isinstance(value, dict) and isinstance(data.get(key), dict):
            data[key] |= value
        else:
            data[key] = value
    with pytest.raises(CaseError) as caught:
        case_from_mapping(data, file="c.toml")
    return list(caught.value.problems)


def only(problems: list[Problem] | tuple[Problem, ...]) -> Problem:
    assert len(problems) == 1, [str(problem) for problem in problems]
    return problems[0]


def table_problems(text: str) -> tuple[Problem, ...]:
    return parse_rows(text, file="t.csv")[1]


@pytest.mark.parametrize(
    ("sections", "field", "given", "allowed"),
    [
        ({"use": {"living_degf": 400}}, "use.living_degc", "400 degF",
         "-60 to 100 degC (-76 to 212 degF)"),
        ({"use": {"storage_charge": "180 %"}}, "use.storage_charge", "'180 %'",
         "0.001 to 1, or a percentage up to 100 %"),
        ({"system": {"mass_limit_kg": "80 V"}}, "system.mass_limit_kg", "'80 V'",
         "kg, g, lb, lbs, oz"),
        ({"system": {"cable_run_ft": -3}}, "system.cable_run_m", "-3 ft",
         "0.01 to 1000 m (0.0328084 to 3280.84 ft)"),
        ({"system": {"nominal_voltage_v": "30 V"}}, "system.nominal_voltage_v", "'30 V'",
         "12, 24, 36 or 48"),
        ({"system": 5}, "system", "5", "a section"),
        ({"system": None}, "system", "None", "a section"),
        ({"loads": {"name": "kettle"}}, "loads", "a section", "a list"),
        ({"loads": ["kettle"]}, "loads[1]", "'kettle'", "a section"),
        ({"candidates": "mine.csv"}, "candidates", "'mine.csv'", "a list"),
        ({"candidates_file": 5}, "candidates_file", "5", "text"),
        ({"assumptions": {"max_packs": 2.5}}, "assumptions.max_packs", "2.5",
         "a whole number"),
        ({"assumptions": {"autonomy_days": float("nan")}}, "assumptions.autonomy_days", "nan",
         "a finite number"),
        ({"assumptions": {"autonomy_days": 10**400}}, "assumptions.autonomy_days",
         "a number of more than 80 digits", "a number"),
        ({"assumptions": {"autonomy_days": True}}, "assumptions.autonomy_days", "true", ""),
        ({"assumptions": {"seed": True}}, "assumptions.seed", "true", ""),
        ({"climate": {"mean_degc": [1, 2, 3]}}, "climate.mean_degc", "[1, 2, 3]",
         "one number for every month, or twelve, January first"),
        ({"climate": {"mean_degc": 200}}, "climate.mean_degc", "200", "-60 to 100 degC"),
        ({"climate": {"irradiation_kwh_per_m2_day": [1] * 11 + ["x"]}},
         "climate.irradiation_kwh_per_m2_day[12]", "'x'", ""),
        ({"prices": {"busbar_price": "499 (was 599)"}}, "prices.busbar_price",
         "'499 (was 599)'", ""),
        ({"use": {"months_in_use": "Nov-Foo"}}, "use.months_in_use", "'Nov-Foo'", ""),
        ({"use": {"months_in_use": "Janitor"}}, "use.months_in_use", "'Janitor'", ""),
    ],
)  # fmt: skip
def test_one_problem_as_typed(
    sections: dict[str, Any], field: str, given: str, allowed: str
) -> None:
    problem = only(case_problems(**sections))
    assert (problem.file, problem.field, problem.given) == ("c.toml", field, given)
    assert problem.allowed == allowed


def test_a_fraction_typed_as_percent_is_mended_by_what_was_typed() -> None:
    problem = only(case_problems(use={"storage_charge": 80}))
    assert problem.mend == 'It is a fraction: write 0.8 or "80 %".'


def test_a_key_with_a_slip_is_guessed() -> None:
    problem = only(case_problems(system={"cable_rum_m": 3}))
    assert problem.mend == "Did you mean cable_run_m?"


def test_two_units_for_one_field() -> None:
    problem = only(case_problems(system={"cable_run_m": 3, "cable_run_ft": 9}))
    assert problem.what == "is given twice, as cable_run_m and as cable_run_ft"


def test_broken_sections_do_not_hide_each_other_nor_the_checks_across_them() -> None:
    problems = case_problems(
        system={
            "cable_run_m": -1,
            "inverter": {"continuous_w": 2000, "surge_w": 100, "efficiency": 90},
            "spaces": [
                {"name": "a", "width_mm": -5, "depth_mm": 1, "height_mm": 1},
                {"name": "a", "width_mm": 5, "depth_mm": 1, "height_mm": 1},
            ],
        },
        loads=[
            {"name": "kettle", "power_w": 900, "surge_w": 10, "hours_per_day": 99},
            {"name": "kettle", "hours_per_day": 1},
        ],
        sources={"generator": [{"rating_a": 0, "start_below": 0.9, "stop_above": 0.2}]},
        use={"living_degc": "warm"},
    )
    assert {problem.field for problem in problems} == {
        "system.cable_run_m",
        "system.inverter.efficiency",
        "system.inverter.surge_w",
        "system.spaces[2].name",
        "system.spaces[1].width_mm",
        "loads[1].hours_per_day",
        "loads[1].surge_w",
        "loads[2].power_w",
        "loads[2].name",
        "sources.generator[1].rating_a",
        "sources.generator[1].stop_above",
        "use.living_degc",
    }
    named = {problem.item for problem in problems if problem.field.startswith("loads[")}
    assert named == {"load 'kettle'"}


def test_a_broken_inverter_is_still_an_inverter() -> None:
    load = {"name": "kettle", "power_w": 900, "hours_per_day": 1, "via": "inverter"}
    problem = only(case_problems(system={"inverter": {"continuous_w": -1}}, loads=[load]))
    assert problem.field == "system.inverter.continuous_w"
    assert "the system has none" in only(case_problems(loads=[load])).what


def test_extra_limits_hold_beside_the_type() -> None:
    problem = only(table_problems(HEAD + "A,lfp,61,100,1\n"))
    assert (problem.field, problem.allowed) == ("nominal_voltage_v", "1 to 60 V")


def test_case_and_table_are_reported_together(tmp_path: Path) -> None:
    (tmp_path / "c.toml").write_text('candidates_file = "t.csv"\nunits = "stone"\n')
    (tmp_path / "t.csv").write_text(HEAD + "A,lfp,12,x,1\n")
    with pytest.raises(CaseError) as caught:
        read_case(tmp_path / "c.toml")
    assert [p.field for p in caught.value.problems] == ["capacity_ah", "units", "system", "climate"]


def test_a_table_given_beside_a_broken_case_is_read_too(tmp_path: Path) -> None:
    (tmp_path / "c.toml").write_text("units = \n")
    (tmp_path / "t.csv").write_text(HEAD + "A,lfp,12,x,1\n")
    with pytest.raises(CaseError) as caught:
        read_case(tmp_path / "c.toml", candidates=tmp_path / "t.csv")
    assert [problem.file for problem in caught.value.problems] == ["c.toml", "t.csv"]


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (None, "there is no such file"),
        (b"", "has no rows"),
        (b"\n \n,,\n", "has no rows"),
        (b"\x89PNG\r\n\x1a\n\0\0\0", "is not a text file"),
        (b"PK\x03\x04rest", "is damaged, or no spreadsheet"),
        (b'name,price\n"' + b"x" * 140_000, "has a cell of more than"),
    ],
)
def test_files_that_are_no_table(tmp_path: Path, content: bytes | None, what: str) -> None:
    path = tmp_path / "t.csv"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CaseError, match=what):
        read_candidates(path)


@pytest.mark.parametrize("read", [read_case, read_candidates])
def test_a_folder_and_an_impossible_path(read: Any, tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="is a folder"):
        read(tmp_path)
    with pytest.raises(CaseError, match="cannot be opened"):
        read("a\0b")


@pytest.mark.parametrize(
    "content", [b"", b"# nothing\n", b"\xff\xfex", b"PK\x03\x04", b"a = ", b"t = '\xe9'"]
)
def test_files_that_are_no_case(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "c.toml").write_bytes(content)
    with pytest.raises(CaseError):
        read_case(tmp_path / "c.toml")


def test_heading_only_gives_no_candidates() -> None:
    assert parse_candidates(HEAD) == ()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(
    tmp_path: Path, encoding: str, separator: str, end: str
) -> None:
    rows = [
        [
            "Model",
            "Type",
            "Voltage",
            "Capacity (Ah)",
            "Price (€)",
            "Size (W x D, mm)",
            "Weight (lb)",
            "Farbe",
        ],
        ["Größe ½", "LiFePO4", "12.8 V", "100", '"€ 1.299,-"', "330x172x220", "66", "blue"],
    ]
    text = (
        end.join(separator.join(row) for row in rows).replace(
            "D, mm", "D; mm" if separator == "," else "D, mm"
        )
        + end
    )
    path = tmp_path / "t.csv"
    path.write_bytes(text.encode(encoding))
    (candidate,) = read_candidates(path)
    assert candidate.name == "Größe ½"
    assert candidate.price == 1299.0
    assert candidate.mass_kg == pytest.approx(66 * 0.45359237, rel=1e-11)  # pound, 1959
    assert (candidate.width_mm, candidate.depth_mm, candidate.height_mm) == (330, 172, 220)
    assert candidate.other == {"Farbe": "blue"}


@pytest.mark.parametrize(
    ("cell", "price"),
    [("€ 1.299,-", 1299.0), ("1,299", 1299.0), ("1.299", 1299.0), ("1 299,50 kr", 1299.5),
     ("CHF 1'299.-", 1299.0), ("US$ 499.99", 499.99), ("0", 0.0), ("1,299,000 JPY", 1299000.0)],
)  # fmt: skip
def test_prices_of_shops(cell: str, price: float) -> None:
    (candidate,) = parse_candidates(HEAD + f'A,lfp,12,100,"{cell}"\n')
    assert candidate.price == price


@pytest.mark.parametrize("cell", ["2 for 900", "499 (was 599)", "1.3k", "12 99", "call us"])
def test_prices_that_are_not_one_amount(cell: str) -> None:
    problem = only(table_problems(HEAD + f'A,lfp,12,100,"{cell}"\n'))
    assert (problem.row, problem.item, problem.field) == (2, "candidate 'A'", "price")
    assert problem.given == f"'{cell}' under 'price'"


@pytest.mark.parametrize(
    ("cell", "words"),
    [("1,250", "1250 or 1.25"), ("25,625", "25625 or 25.6250"), ("1,2,3", "number"),
     ("1e999", "too large"), ("nan", "number"), ("4000++", "number"), ("100 kWh", "unit 'kWh'"),
     ("-5", "too small"), ("9" * 90_000, "too large")],
)  # fmt: skip
def test_numbers_that_cannot_be_read(cell: str, words: str) -> None:
    problem = only(table_problems(HEAD + f'A,lfp,12,"{cell}",1\n'))
    assert problem.field == "capacity_ah"
    assert words in str(problem)
    assert len(str(problem)) < 400


def test_a_point_among_semicolons_is_asked_back() -> None:
    text = HEAD.replace(",", ";").rstrip() + ";mass_kg\nA;lfp;12,8;100;499;4.000\n"
    problem = only(table_problems(text))
    assert (problem.field, problem.what) == ("mass_kg", "can mean 4000 or 4,000")


@pytest.mark.parametrize(
    ("price", "cycles"),
    [("499", "4.000"), ("499", "4.000+"), ("499", "4.000 Zyklen"), ("499", "ca. 4.000"),
     ("ab 1.590 €", "4000"), ("1.590 € inkl. MwSt.", "4000")],
)  # fmt: skip
def test_money_and_cycles_have_no_three_decimals_among_semicolons(price: str, cycles: str) -> None:
    text = HEAD.replace(",", ";").rstrip() + f";rated_cycles\nA;lfp;12,8;100;{price};{cycles}\n"
    (candidate,), problems = parse_rows(text, file="t.csv")
    assert not problems
    assert (candidate.price, candidate.rated_cycles) == (1590 if "1.590" in price else 499, 4000)


@pytest.mark.parametrize(
    ("field", "cell"),
    [("continuous_discharge_a", "100/200 A"), ("capacity_ah", "100/120 Ah"), ("mass_kg", "20/44"),
     ("nominal_voltage_v", "12/24 V"), ("rated_cycles", "4000/6000"), ("warranty_years", "3/5"),
     ("width_mm", "330/170 mm")],
)  # fmt: skip
def test_two_numbers_are_not_a_fraction(field: str, cell: str) -> None:
    with pytest.raises(UnitProblem, match="is two numbers"):
        read_cell(cell, field, "")


def test_percent_above_hundred_shows_what_was_typed() -> None:
    problem = only(table_problems(HEAD.rstrip() + ",DoD %\nA,lfp,12,100,1,180\n"))
    assert problem.given == "'180' under 'DoD %'"
    assert problem.mend == ""


def test_a_missing_column_is_told_once() -> None:
    problems = table_problems(
        "name,chemistry,nominal_voltage_v,capacity_ah\nA,lfp,12,1\nB,lfp,12,1"
    )
    assert only(problems).what == "has no column for price"


def test_a_price_per_kwh_is_not_the_price() -> None:
    text = "name,chemistry,nominal_voltage_v,capacity_ah,Price (per kWh)\nA,lfp,12,1,300\n"
    assert only(table_problems(text)).what == "has no column for price"


def test_an_empty_cell_is_told_by_row() -> None:
    problems = table_problems(HEAD + "A,lfp,12,1,\nB,lfp,12,1,5\nC,lfp,12,1,\n")
    assert [(p.row, p.field, p.what) for p in problems] == [
        (2, "price", "is missing"),
        (4, "price", "is missing"),
    ]


def test_headings_that_mean_the_same() -> None:
    text = "name,chemistry,nominal_voltage_v,capacity_ah,price,Weight,mass_lb,size,height\n"
    found = [problem.field for problem in table_problems(text)]
    assert found == ["mass_kg", "height_mm"]


def test_columns_of_their_own_are_all_kept() -> None:
    text = HEAD.rstrip() + ",Colour,Colour,,Notes\nA,lfp,12,1,5,red,blue,loose,n/a\n"
    (candidate,) = parse_candidates(text)
    assert candidate.other == {"Colour": "red", "Colour (2)": "blue", "column 8": "loose"}
    assert candidate.notes == "n/a"


def test_ragged_rows() -> None:
    candidates, problems = parse_rows(HEAD + "A,lfp,12,1,5,over\nB,lfp\nC,lfp,12,1,5,,\n")
    assert [candidate.name for candidate in candidates] == ["C"]
    assert [p.row for p in problems] == [2, 3, 3, 3]
    assert problems[0].given == "['over']"


def test_names_are_told_apart() -> None:
    problem = only(table_problems(HEAD + "A,lfp,12,1,5\n A ,lfp,12,1,5\n"))
    assert problem.what == "is already the name of row 2"


def test_a_name_of_several_lines_keeps_rows_as_a_spreadsheet_counts_them() -> None:
    problem = only(table_problems(HEAD + '"A\nB",lfp,12,1,5\nC,nicad,12,1,5\n'))
    assert problem.row == 3


def test_five_thousand_rows_are_all_read() -> None:
    heading = HEAD.rstrip() + ",Weight (lb),Size,DoD %,cycles,Colour\n"
    rows = "".join(f"P{n},lfp,12.8 V,100,€ 499,31,330x172x220,80,4000,red\n" for n in range(5000))
    assert len(parse_candidates(heading + rows)) == 5000


JUNK: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)
PATHS = [
    ("system",), ("loads",), ("sources",), ("use",), ("climate",), ("candidates",), ("title",),
    ("prices",), ("system", "spaces"), ("system", "inverter"), ("climate", "mean_degc"),
    ("use", "months_in_use"), ("candidates_file",), ("system", "nominal_voltage_v"),
]  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(st.sampled_from(PATHS), JUNK, min_size=1, max_size=3))
def test_junk_gives_a_case_or_a_case_error(junk: dict[tuple[str, ...], Any]) -> None:
    data = copy.deepcopy(GOOD)
    for path, value in sorted(junk.items(), key=lambda item: -len(item[0])):
        inner = data
        for step in path[:-1]:
            inner = inner.setdefault(step, {})
        inner[path[-1]] = value
    try:
        case_from_mapping(data)
        problems: tuple[Problem, ...] = ()
    except CaseError as error:
        problems = error.problems or (Problem(""),)
    assert all(problem.what and len(str(problem)) < 3000 for problem in problems)


@settings(max_examples=300, deadline=None)
@given(st.text(st.sampled_from(',;\t"\n\r\0 aA1.-%€\ufeff'), max_size=60))
def test_junk_tables_give_problems_and_nothing_else(text: str) -> None:
    for table in (text, HEAD + text):
        candidates, problems = parse_rows(table)
        assert problems or candidates or not text.strip('",;\t\n\r \ufeff')


@pytest.mark.parametrize(
    ("name", "what"), [("", "is empty"), ("  ", "is empty"), ("x" * 121, "is too long")]
)
def test_a_text_is_too_long_or_empty_and_has_no_entries(name: str, what: str) -> None:
    problem = only(case_problems(loads=[{"name": name, "power_w": 5, "hours_per_day": 1}]))
    assert (problem.field, problem.what) == ("loads[1].name", what)
    assert problem.allowed in ("some text", "at most 120 characters")
