"""The arrows between the packages, what lies at the top, and the length of modules."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "tco"
ORDER = (
    *("sentences", "memo", "physics", "case", "workspace", "forms", "bank", "life", "money"),
    *("pipeline", "result", "columns", "compare", "weighing", "checkup", "report", "screens"),
)
EDGE = ("workspace", "forms")
"""How a case is kept and typed: of no concern to what computes."""
ENGINE = (
    "bank",
    "life",
    "money",
    "pipeline",
    "result",
    "columns",
    "compare",
    "weighing",
    "checkup",
)
TOP_LEVEL = {"__init__", "__main__", *ORDER}
SIMULATION = "tco.life.kernel"
"""Simulated years run here; a module runs some where its imports lead here."""
SAID_OF_A_RUN = {
    "convergence",
    "how_often",
    "one_in",
    "second_opinion",
    "share_words",
    "too_few_years",
}
"""Functions of modules that run simulations, which run none: they read or word what was run."""
LONGEST_MODULE = 450

MODULES = sorted(path for path in PACKAGE.rglob("*.py"))
NAMES = {
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
    for path in MODULES
}


def part_of(module: str) -> str:
    """Second step of a dotted name: the package of ours that a module belongs to."""
    steps = module.split(".")
    return steps[1] if len(steps) > 1 else "__init__"


def imports_of(name: str, path: Path) -> Iterator[str]:
    """Dotted names a module imports, wherever in the file; `from x import y` gives x and x.y."""
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, base] if base else above)
            yield base
            yield from (f"{base}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Call) and _called(node) in ("import_module", "__import__"):
            first = node.args[0] if node.args else None
            assert isinstance(first, ast.Constant), f"{name}: a computed import hides an arrow"
            yield str(first.value)


def _called(node: ast.Call) -> str:
    function = node.func
    return getattr(function, "id", "") or getattr(function, "attr", "")


def ours(name: str, path: Path) -> set[str]:
    """Modules of ours that a module imports, without the packages on the way to them."""
    found = {module for module in imports_of(name, path) if module in NAMES}
    return found - {name}


def forbidden(importer: str, imported: str) -> bool:
    """Whether a part may not import another, both second steps of dotted names."""
    if importer == imported:
        return False
    if importer == "__init__":
        return imported in ("report", "screens", "__main__")
    if importer == "__main__":
        return imported == "screens"
    if imported == "__main__":
        return True
    if imported == "__init__":
        return importer != "screens"
    if imported in EDGE:
        return importer in ENGINE or ORDER.index(imported) > ORDER.index(importer)
    return ORDER.index(imported) > ORDER.index(importer)


@pytest.mark.parametrize("name", sorted(NAMES))
def test_imports_point_upstream(name: str) -> None:
    bad = {m for m in ours(name, NAMES[name]) if forbidden(part_of(name), part_of(m))}
    assert not bad, f"{name} imports {', '.join(sorted(bad))}"


def running() -> set[str]:
    """Modules that can run a simulated year: those below the report whose imports lead there."""
    arrows = {
        n: ours(n, path) for n, path in NAMES.items() if part_of(n) not in ("report", "screens")
    }
    found, more = set[str](), {SIMULATION}
    while more:
        found |= more
        more = {name for name, to in arrows.items() if to & found} - found
    return found


RUNNING = running()


def taken_of_runs(name: str, path: Path) -> set[str]:
    """What a module imports of those that run simulations, types and constants left out.

    Types and constants begin with a capital letter; a module imported as a whole counts as taken.
    """
    dotted = set(imports_of(name, path))
    whole = {m for m in dotted & RUNNING if not any(d.startswith(f"{m}.") for d in dotted)}
    parts = {d.rpartition(".") for d in dotted - set(NAMES)}
    return whole | {last for module, _, last in parts if module in RUNNING and last[0].islower()}


REPORT = sorted(name for name in NAMES if part_of(name) == "report")


@pytest.mark.parametrize("name", REPORT)
def test_no_report_runs_a_simulation(name: str) -> None:
    """What a `Comparison` finds out when it is asked (weak points, outages) is its own matter."""
    bad = taken_of_runs(name, NAMES[name]) - SAID_OF_A_RUN
    assert not bad, f"{name} imports {', '.join(sorted(bad))}; run it below"


def test_what_reports_may_take_of_runs_is_taken() -> None:
    assert set().union(*(taken_of_runs(n, NAMES[n]) for n in REPORT)) == SAID_OF_A_RUN


@pytest.mark.parametrize(
    ("line", "taken"),
    [
        ("from tco.life.year import year_profiles", {"year_profiles"}),
        ("from tco.life.kernel import run_years, RESULT", {"run_years"}),
        ("from tco.checkup.assessment import Assessment, assess", {"assess"}),
        ("from tco.compare import compare", {"compare"}),
        ("from tco.life import year", {"tco.life.year"}),
        ("from tco.life.year import Trace", set()),
    ],
)
def test_a_run_in_a_report_is_seen(line: str, taken: set[str], tmp_path: Path) -> None:
    path = tmp_path / "m.py"
    path.write_text(line)
    assert taken_of_runs("tco.report.m", path) == taken


@pytest.mark.parametrize("name", sorted(n for n in NAMES if part_of(n) == "physics"))
def test_physics_imports_nothing_of_ours_but_sentences(name: str) -> None:
    others = {m for m in imports_of(name, NAMES[name]) if m.split(".")[0] == "tco"}
    assert all(part_of(m) in ("physics", "sentences") for m in others), others


def test_there_is_no_cycle() -> None:
    """`prepare` raises CycleError and names the modules of the cycle."""
    TopologicalSorter({name: ours(name, path) for name, path in NAMES.items()}).prepare()


@pytest.mark.parametrize("name", sorted(NAMES))
def test_only_the_screens_import_streamlit(name: str) -> None:
    if part_of(name) != "screens":
        roots = {module.split(".")[0] for module in imports_of(name, NAMES[name])}
        assert "streamlit" not in roots


def test_the_engine_runs_without_streamlit() -> None:
    """Everything but the screens is imported with streamlit made impossible to import."""
    engine = sorted(name for name in NAMES if part_of(name) not in ("screens", "__main__"))
    code = "\n".join(
        [
            "import sys",
            "sys.modules['streamlit'] = None",
            "import importlib",
            *(f"importlib.import_module({name!r})" for name in engine),
            "import tco.__main__" if "tco.__main__" in NAMES else "",
            "loaded = [m for m in sys.modules if m.split('.')[0] == 'streamlit']",
            "assert loaded == ['streamlit'], loaded",
            "assert not [m for m in sys.modules if m.startswith('tco.screens')]",
        ]
    )
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr


def test_the_top_level_holds_what_the_design_lists() -> None:
    top = {
        path.stem
        for path in PACKAGE.iterdir()
        if path.name != "__pycache__" and not path.name.startswith(".") and path.name != "py.typed"
    }
    assert top <= TOP_LEVEL, top - TOP_LEVEL


@pytest.mark.parametrize("name", sorted(NAMES))
def test_modules_are_short(name: str) -> None:
    lines = len(NAMES[name].read_text(encoding="utf-8").splitlines())
    assert lines < LONGEST_MODULE, f"{name} has {lines} lines; split it by idea"


@pytest.mark.parametrize(
    ("importer", "imported", "refused"),
    [
        ("physics", "case", True),
        ("case", "physics", False),
        ("life", "money", True),
        ("money", "bank", False),
        ("compare", "report", True),
        ("report", "screens", True),
        ("report", "compare", False),
        ("__main__", "screens", True),
        ("__main__", "report", False),
        ("__init__", "report", True),
        ("bank", "__init__", True),
        ("bank", "__main__", True),
        ("compare", "workspace", True),
        ("forms", "workspace", False),
        ("workspace", "forms", True),
        ("case", "forms", True),
    ],
)
def test_the_rule_itself(importer: str, imported: str, refused: bool) -> None:
    assert forbidden(importer, imported) is refused


def test_imports_are_seen_in_every_form(tmp_path: Path) -> None:
    path = tmp_path / "m.py"
    path.write_text(
        "import tco.case.units\n"
        "from tco import compare\n"
        "from . import sun\n"
        "from ..bank import fit\n"
        "def f():\n    from tco.money import ledger\n    importlib.import_module('tco.report')\n"
    )
    seen = set(imports_of("tco.physics.m", path))
    assert {
        "tco.case.units",
        "tco.compare",
        "tco.physics.sun",
        "tco.bank.fit",
        "tco.money.ledger",
        "tco.report",
    } <= seen


def test_the_tree_for_contributors_is_the_tree() -> None:
    """Every package and every module beside them is named in DEVELOPERS.md, in their order."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    tree = text.split("```\ntco/\n")[1].split("```")[0]
    lines = tree.splitlines()
    named = {name.rstrip("/") for name in re.findall(r"\b(\w+/)(?=\s|$)", tree)}
    packages = {path.name for path in PACKAGE.rglob("*") if (path / "__init__.py").exists()}
    assert named == packages - {"versions"}
    first = [line.split()[0].rstrip("/").removesuffix(".py") for line in lines if line[2:3] != " "]
    assert set(first) == TOP_LEVEL - {"__init__"}
    assert [part for part in first if part in ORDER] == list(ORDER)
