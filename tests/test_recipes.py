"""The recipes of DEVELOPERS.md, carried out on a copy of the source for the time of a test."""

import ast
import csv
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from tco.case.toml import case_to_toml
from tco.physics.chemistry import CHEMISTRIES

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parent.parent
ENTRIES = ROOT / "tco" / "physics" / "chemistry"

KEY, NAME = "lunarite", "lithium lunarite"
NEW_ENTRY = """\
_LUNARITE = replace(
    _LFP,
    key="lunarite",
    name="lithium lunarite",
    aliases=("moon cell", "li-lun"),
    colour="#F0E442",
    mark="triangle-left",
    second_model="no",
    cell_voltage_v=3.4,
    open_circuit_v=tuple(volts + 0.2 for volts in _LFP.open_circuit_v),
    absorption_v=3.75,
    float_v=3.575,
    charge_min_degc=Datum(5.0, "invented"),
    rated_cycles=Datum(1800.0, "invented"),
    ageing="power",
    loss_exponent=0.6,
    calendar_activation_j_per_mol=50_000.0,
    energy_wh_per_l=Datum(260.0, "invented"),
    highest_rate_c=Datum(2.0, "invented"),
    usable_depth=Datum(0.5, "invented"),
    deepest_depth=Datum(0.85, "invented"),
)

"""

SAYING = """\
import contextlib, io, json, sys
import tco
from tco import compare, read_case
from tco.__main__ import main

def said(*arguments):
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(arguments) == 0, arguments
    return out.getvalue()

"""

CHEMISTRY_SEEN = """\
from tco.case import doubts, parse_candidates, specify
from tco.case.plausibility import case_doubts
from tco.forms.labels import CANDIDATE
from tco.physics.chemistry import CHEMISTRIES
from tco.report.space.charts import density_points
from tco.report.space.frames import densities

toml, listed, table = sys.argv[1:]
case = read_case(toml)
chart = density_points(densities(compare(case))).to_dict()
with open(table) as file:
    text = file.read()
print(json.dumps({
    "source": tco.__file__,
    "keys": list(CHEMISTRIES),
    "from_toml": [c.chemistry for c in case.candidates],
    "from_csv_by_case": [c.chemistry for c in read_case(listed).candidates],
    "from_csv": [c.chemistry for c in parse_candidates(text)],
    "pack": {
        field: [datum.value, datum.source]
        for field, datum in specify(case.candidates[-1]).assumed.items()
    },
    "choices": next(e.choices for e in CANDIDATE if e.field == "chemistry"),
    "text": said("compare", toml, "--draws", "20", "--seed", "1"),
    "json": json.loads(said("compare", toml, "--draws", "20", "--seed", "1", "--json")),
    "check": said("check", toml),
    "chart": chart,
    "doubts": [sentence for c in case.candidates for sentence in doubts(c)],
    "case_doubts": [d.sentence for d in case_doubts(case)],
}))
"""


def copy_of_the_source(folder: Path, changed: Mapping[Path, Callable[[str], str]]) -> Path:
    """The package with some files changed; all others are links, so that nothing compiles anew."""

    def laid_out(source: Path, target: Path) -> None:
        target.mkdir()
        for path in source.iterdir():
            if path in changed:
                before = path.read_text(encoding="utf-8")
                after = changed[path](before)
                assert after != before, f"{path} was to change"
                (target / path.name).write_text(after, encoding="utf-8")
            elif path.is_dir() and path.name != "__pycache__":
                laid_out(path, target / path.name)
            else:
                (target / path.name).symlink_to(path)

    laid_out(ROOT / "tco", folder / "tco")
    return folder


def after(anchor: str, added: str) -> Callable[[str], str]:
    """A change that adds text behind the one place where a file says something."""

    def change(text: str) -> str:
        assert text.count(anchor) == 1, f"{text.count(anchor)} places say {anchor!r}"
        return text.replace(anchor, anchor + added)

    return change


def run(folder: Path, *arguments: str | Path) -> str:
    environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        [sys.executable, *map(str, arguments)],
        cwd=folder, env=environment, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def one_more_chemistry(text: str) -> str:
    """The recipe: an entry in the module of its family, named in the tuple at the end."""
    assert text.count("LITHIUM = (") == 1
    text = text.replace("LITHIUM = (", NEW_ENTRY + "LITHIUM = (_LUNARITE, ")
    return text.replace("\n\n", "\n\nfrom dataclasses import replace\n\n", 1)


@pytest.fixture(scope="module")
def with_one_more(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("source")
    return copy_of_the_source(folder, {ENTRIES / "lithium.py": one_more_chemistry})


PACK = {
    "name": "Moon 100", "chemistry": "moon cell", "nominal_voltage_v": "13.6", "capacity_ah": "100",
    "usable_depth": "0.9", "width_mm": "330", "depth_mm": "172", "height_mm": "200",
    "continuous_discharge_a": "250", "price": "500",
}  # fmt: skip


@pytest.fixture(scope="module")
def seen(
    with_one_more: Path, tmp_path_factory: pytest.TempPathFactory, plain_case: Callable[..., Any]
) -> dict[str, Any]:
    """What the program makes of a case with a pack of the new chemistry, and of the plain one."""
    folder = tmp_path_factory.mktemp("case")
    case = plain_case(assumptions={"horizon_years": 6})
    written = "".join(
        f"{field} = {value if value.replace('.', '').isdigit() else json.dumps(value)}\n"
        for field, value in PACK.items()
    )
    toml = folder / "new.toml"
    toml.write_text(f"{case_to_toml(case)}\n[[candidates]]\n{written}", encoding="utf-8")
    table = folder / "packs.csv"
    shop = {**PACK, "chemistry": " Li-LUN"}
    table.write_text(f"{','.join(shop)}\n{','.join(shop.values())}\n", encoding="utf-8")
    listed = folder / "listed.toml"
    plain = case_to_toml(case, with_candidates=False)
    listed.write_text(f'candidates_file = "packs.csv"\n{plain}', encoding="utf-8")
    found: dict[str, Any] = json.loads(
        run(with_one_more, "-c", SAYING + CHEMISTRY_SEEN, toml, listed, table)
    )
    assert Path(found["source"]).is_relative_to(with_one_more)
    return found


def test_a_new_chemistry_is_read_by_its_names(seen: dict[str, Any]) -> None:
    assert set(seen["keys"]) == {*CHEMISTRIES, KEY}
    assert seen["from_toml"] == ["lfp", KEY]
    assert seen["from_csv"] == seen["from_csv_by_case"] == [KEY]
    assert KEY in seen["choices"]


def test_a_new_chemistry_fills_the_gaps_of_its_packs(seen: dict[str, Any]) -> None:
    assert seen["pack"]["rated_cycles"] == [1800.0, f"{NAME}, invented"]
    assert seen["pack"]["charge_min_degc"] == [5.0, f"{NAME}, invented"]


def test_a_new_chemistry_is_compared_and_told(seen: dict[str, Any]) -> None:
    assert "Moon 100" in seen["text"]
    rows = {row["candidate"]: row for row in seen["json"]["arrangements"]}
    assert rows["Moon 100"]["chemistry"] == KEY
    assert rows["Moon 100"]["uncertainty"]["mean"] > 500.0
    assert rows["Moon 100"]["health"] != rows["Plain 100"]["health"]


def test_a_new_chemistry_has_its_colour_and_mark(seen: dict[str, Any]) -> None:
    layers = seen["chart"]["layer"]
    encoding = next(layer["encoding"] for layer in layers if "shape" in layer["encoding"])
    at = encoding["color"]["scale"]["domain"].index(KEY)
    assert encoding["color"]["scale"]["range"][at] == "#F0E442"
    assert encoding["fill"]["scale"]["range"][at] == "#F0E442"
    assert encoding["shape"]["scale"]["range"][at] == "triangle-left"


def test_a_new_chemistry_is_doubted_by_its_own_usual_values(seen: dict[str, Any]) -> None:
    told = "\n".join(seen["doubts"])
    assert f"120 Wh/L is far below the usual 260 of {NAME}" in told
    assert f"above the 2 C that {NAME} packs carry" in told
    assert f"Drawing 90 % from {NAME} shortens its life sharply; half is usual." in told
    assert set(seen["doubts"]) <= set(seen["case_doubts"])
    assert "above the 2 C" in " ".join(seen["check"].split())


def test_a_new_chemistry_passes_the_tests_of_every_chemistry(with_one_more: Path) -> None:
    names = ("physics/test_chemistry.py", "case/test_public_names.py")
    options = ("-q", "-p", "no:cacheprovider", "--import-mode=importlib", "--rootdir")
    out = run(
        with_one_more, "-m", "pytest", *options, ROOT, *(ROOT / "tests" / name for name in names)
    )
    assert "passed" in out


COST = {
    "case/prices.py": after("    claim_trouble: Money = 40.0\n", "    ferry_price: Money = 0.0\n"),
    "forms/labels.py": after("MONEY = (\n", '    entry("ferry_price", "The ferry", "price"),\n'),
    "bank/costs.py": after(
        "    spares = case.assumptions.spare_packs\n",
        "    ferry = case.prices.ferry_price\n"
        '    words = f"1 × {ferry:,.2f}{tax}"\n'
        '    yield Paid("ferry", lambda _: words, other_price=with_tax(case, ferry))\n',
    ),
    "report/money/frames.py": after('    "Packs": (', '"ferry", '),
}

COST_SEEN = """\
from tco.forms.labels import MONEY
from tco.report.money.frames import cost_groups, group_of

groups = cost_groups(compare(read_case(sys.argv[2])).results)
print(json.dumps({
    "source": tco.__file__,
    "label": next(e.label for e in MONEY if e.field == "ferry_price"),
    "group": group_of("ferry"),
    "in_groups": float(groups["present"].sum()),
    "why": said("compare", sys.argv[2], "--why", "1"),
    "json": [json.loads(said("compare", path, "--draws", "50", "--json")) for path in sys.argv[1:]],
}))
"""


def test_a_cost_is_added_by_its_recipe(tmp_path: Path, plain_case: Callable[..., Any]) -> None:
    """The ledger, the draws, the words and the groups all bear it, with its tax."""
    changed = {ROOT / "tco" / name: change for name, change in COST.items()}
    source = copy_of_the_source(tmp_path, changed)
    cheap, dear = tmp_path / "cheap.toml", tmp_path / "dear.toml"
    text = case_to_toml(plain_case(prices={"tax_rate": 0.25}))
    cheap.write_text(text, encoding="utf-8")
    dear.write_text(text.replace("[prices]\n", "[prices]\nferry_price = 80.0\n"), encoding="utf-8")
    found = json.loads(run(source, "-c", SAYING + COST_SEEN, cheap, dear))
    assert Path(found["source"]).is_relative_to(source)
    assert (found["label"], found["group"]) == ("The ferry", "Packs")
    assert "1 × 80.00" in found["why"]
    without, bearing = (data["arrangements"] for data in found["json"])
    assert len(without) == len(bearing) > 0
    for before, now in zip(without, bearing, strict=True):
        assert now["total_cost"] - before["total_cost"] == pytest.approx(100.0)
        drawn = now["uncertainty"]["mean"] - before["uncertainty"]["mean"]
        assert drawn == pytest.approx(100.0)
        (flow,) = (flow for flow in now["ledger"] if flow["item"] == "ferry")
        assert (flow["year"], flow["amount"]) == (0.0, 100.0)
    assert found["in_groups"] == pytest.approx(sum(row["total_cost"] for row in bearing))


CHECK = {
    "bank/checks/check.py": after(
        "REQUIREMENTS = {\n", '    "odd_packs": "no odd number of packs",\n'
    ),
    "bank/checks/screening.py": after(
        "    checks = [\n",
        """        limit_check(
            "odd_packs",
            float(arrangement.packs % 2),
            0.0,
            "packs",
            at_least=False,
            good=f"{arrangement.packs} packs stand in pairs",
            bad=f"{arrangement.packs} packs: one stands alone",
        ),
""",
    ),
}

CHECK_SEEN = """\
from tco.report.frames import checks

comparison = compare(read_case(sys.argv[1]))
print(json.dumps({
    "source": tco.__file__,
    "verdicts": [
        [r.arrangement.packs, r.screening.check("odd_packs").verdict, r.feasible]
        for r in comparison.results
    ],
    "frame": checks(comparison.results[0])["Requirement"].tolist(),
    "json": json.loads(said("compare", sys.argv[1], "--json")),
    "text": [
        said("compare", sys.argv[1], "--why", str(rank))
        for rank in range(1, len(comparison.results) + 1)
    ],
}))
"""


def test_a_check_is_added_by_its_recipe(tmp_path: Path) -> None:
    """A key, words and a function: it rules out, and screen, text and JSON tell why."""
    source = copy_of_the_source(tmp_path, {ROOT / "tco" / k: v for k, v in CHECK.items()})
    demo = ROOT / "candidates_demo" / "larch_hut.toml"
    found = json.loads(run(source, "-c", SAYING + CHECK_SEEN, demo))
    assert Path(found["source"]).is_relative_to(source)
    assert {packs % 2 for packs, _, _ in found["verdicts"]} == {0, 1}
    for packs, verdict, feasible in found["verdicts"]:
        assert verdict == ("fail" if packs % 2 else "pass")
        assert not (packs % 2 and feasible)
    assert "no odd number of packs" in found["frame"]
    told = [check for row in found["json"]["arrangements"] for check in row["checks"]]
    reasons = {check["reason"] for check in told if check["key"] == "odd_packs"}
    assert {"1 packs: one stands alone", "2 packs stand in pairs"} <= reasons
    assert any("1 packs: one stands alone" in text for text in found["text"])


SCREEN = """\
import streamlit as st

from tco.report.answer.frames import ranked
from tco.screens import bar, parts, state


def main() -> None:
    comparison = state.comparison_of(bar.top("moons"))
    parts.sentence("The moons of the case.")
    st.dataframe(ranked(comparison))


main()
"""

SCREEN_SEEN = """\
from streamlit.testing.v1 import AppTest

import app as listed

whole = AppTest.from_file("app.py", default_timeout=60).run()
app = AppTest.from_file(f"tco/screens/{list(listed.SCREENS)[1]}.py", default_timeout=60).run()
print(json.dumps({
    "source": tco.__file__,
    "errors": [error.message for error in (*whole.exception, *app.exception)],
    "said": [one.value for one in app.subheader],
    "rows": [len(one.value) for one in app.dataframe],
}))
"""


def test_a_screen_is_added_by_its_recipe(tmp_path: Path) -> None:
    """A file and a line in the list of screens: it is one of them, with the bar and the answer."""
    source = copy_of_the_source(tmp_path, {})
    (source / "tco" / "screens" / "moons.py").write_text(SCREEN, encoding="utf-8")
    (source / "candidates_demo").symlink_to(ROOT / "candidates_demo")
    app = (ROOT / "app.py").read_text(encoding="utf-8")
    listed = after('    "answer": "The answer",\n', '    "moons": "Moons",\n')(app)
    (source / "app.py").write_text(listed, encoding="utf-8")
    found = json.loads(run(source, "-c", SAYING + SCREEN_SEEN))
    assert Path(found["source"]).is_relative_to(source)
    assert not found["errors"]
    assert found["said"][0].replace("\\", "") == "The moons of the case."
    assert len(found["rows"]) == 1
    assert found["rows"][0] > 10


COLUMN = {
    "columns.py": after(
        'Column("candidate", _of(lambda r: r.arrangement.pack.name)),\n',
        """    Column(
        "moons_kg",
        _of(lambda r: 2.0 * r.arrangement.mass_kg),
        words="Moons",
        unit="kg",
        digits=1,
        terminal="moons",
        terminal_digits=1,
    ),
""",
    )
}

EXPORT = {
    "report/exports.py": lambda text: text.replace(
        "EXPORTS: Mapping",
        '''def as_markdown(comparison: Comparison) -> str:
    """A table for a page of notes."""
    lines = [[column.key for column in COLUMNS], ["---"] * len(COLUMNS)]
    lines += [[str(column.plain(row)) for column in COLUMNS] for row in comparison.rows]
    return "\\n".join(f"| {' | '.join(cells)} |" for cells in lines)


EXPORTS: Mapping''',
    ).replace('{"csv": as_csv}', '{"csv": as_csv, "md": as_markdown}')
}

COLUMN_SEEN = """\
from tco.report.answer.frames import ranked, ranked_formats

comparison = compare(read_case(sys.argv[1]))
frame = ranked(comparison)
print(json.dumps({
    "source": tco.__file__,
    "mass": [result.arrangement.mass_kg for result in comparison.results],
    "screen": frame["Moons [lb]"].tolist(),
    "format": ranked_formats(list(frame.columns))["Moons [lb]"],
    "table": comparison.table["moons_kg"].tolist(),
    "text": said("compare", sys.argv[1]),
    "json": json.loads(said("compare", sys.argv[1], "--json")),
    "csv": said("compare", sys.argv[1], "--csv"),
}))
"""


def test_a_column_is_added_by_its_recipe(tmp_path: Path, plain_case: Callable[..., Any]) -> None:
    """One entry in the list: screen, terminal, table, JSON and CSV have it, each in its units."""
    source = copy_of_the_source(tmp_path, {ROOT / "tco" / k: v for k, v in COLUMN.items()})
    toml = tmp_path / "case.toml"
    toml.write_text(f'units = "imperial"\n{case_to_toml(plain_case())}', encoding="utf-8")
    found = json.loads(run(source, "-c", SAYING + COLUMN_SEEN, toml))
    assert Path(found["source"]).is_relative_to(source)
    twice = [2.0 * mass for mass in found["mass"]]
    pounds = [value / 0.45359237 for value in twice]
    assert found["screen"] == pytest.approx(pounds)
    assert found["format"] == "{:,.1f}"
    assert found["table"] == twice == [row["moons_kg"] for row in found["json"]["arrangements"]]
    assert [row["moons_kg"] for row in csv.DictReader(found["csv"].splitlines())] == [
        str(value) for value in twice
    ]
    lines = found["text"].splitlines()
    at = next(n for n, line in enumerate(lines) if "moons" in line.split())
    units, first = lines[at + 1].split(), lines[at + 2].split()
    assert f"{pounds[0]:,.1f}" in first
    assert units.count("lb") == 2


def test_an_export_is_added_by_its_recipe(tmp_path: Path, plain_case: Callable[..., Any]) -> None:
    """A writer and its name: the command line offers it, with every column."""
    source = copy_of_the_source(tmp_path, {ROOT / "tco" / k: v for k, v in EXPORT.items()})
    toml = tmp_path / "case.toml"
    toml.write_text(case_to_toml(plain_case()), encoding="utf-8")
    plain = run(source, "-m", "tco", "compare", toml, "--csv").splitlines()
    noted = run(source, "-m", "tco", "compare", toml, "--md").splitlines()
    keys, ruled, *rows = ([cell.strip() for cell in line.strip("|").split("|")] for line in noted)
    assert keys == plain[0].split(",")
    assert set(ruled) == {"---"}
    at = keys.index("arrangement")
    assert [row[at] for row in rows] == [row["arrangement"] for row in csv.DictReader(plain)]
    assert len(rows) > 0
    assert "--md" in run(source, "-m", "tco", "compare", "--help")


def questions(code: str) -> Iterator[int]:
    """Lines that ask which chemistry or family it is, or hold a table by chemistry."""
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Compare):
            asked = {part.attr for part in ast.walk(node) if isinstance(part, ast.Attribute)}
            words = {part.value for part in ast.walk(node) if isinstance(part, ast.Constant)}
            families = {chemistry.family for chemistry in CHEMISTRIES.values()}
            if asked & {"key", "family", "chemistry"} and words & {*CHEMISTRIES, *families}:
                yield node.lineno
        elif isinstance(node, ast.Dict):
            keys = {key.value for key in node.keys if isinstance(key, ast.Constant)}
            if len(keys & set(CHEMISTRIES)) > 1:
                yield node.lineno


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("chemistry.family == 'lead'", True),
        ("pack.chemistry.key in ('lfp', 'nmc')", True),
        ("candidate.chemistry != 'agm'", True),
        ("USUAL = {'lfp': 1.0, 'agm': 2.0}", True),
        ("chemistry.sulphates and charger.key == 'solar'", False),
        ("{'lead': 1.0, 'jumper': 2.0}", False),
    ],
)
def test_a_question_for_the_chemistry_is_seen(code: str, found: bool) -> None:
    assert bool(list(questions(code))) is found


def test_nothing_asks_which_chemistry_it_is() -> None:
    """What differs between chemistries is an attribute of the entry."""
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in sorted((ROOT / "tco").rglob("*.py"))
        if path.parent != ENTRIES
        for line in questions(path.read_text(encoding="utf-8"))
    ]
    assert not found
