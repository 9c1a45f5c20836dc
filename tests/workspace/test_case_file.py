"""A case as one file: the same after a way out and in; told in words where it is no such file."""

import json
import random
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case import CaseError
from tco.workspace import case_file
from tco.workspace.case_file import case_file_text, read_case_file
from tco.workspace.database import Folder
from tco.workspace.edits import Edit, Step
from tco.workspace.schema.stored import CaseInfo, StoredCase
from tco.workspace.store import Store
from tests.workspace.store_helpers import BASE, MOMENT, later, step

NAME = "boat.json"
INFO = CaseInfo("boat-abcdefghijkl", "Boat „Möwe“ ☃", "ann", MOMENT, later(60), 3)
STEPS = tuple(
    one.numbered(number)
    for number, one in enumerate(
        [
            step(401.0, words="price", who="ann"),
            step({"a": [1, None, True]}),
            step("whole \U0001f50b", kind="undo", of=1),
        ],
        start=1,
    )
)
KEPT = StoredCase(INFO, BASE, STEPS)


def test_a_case_comes_back_with_all_its_history() -> None:
    text = case_file_text(KEPT)
    assert read_case_file(text, NAME) == (INFO.title, BASE, STEPS)
    assert list(read_case_file(text)[1]) == list(BASE)
    assert text.isascii()


def test_the_same_case_gives_the_same_text() -> None:
    text = case_file_text(KEPT)
    title, base, steps = read_case_file(text)
    again = StoredCase(
        CaseInfo("other", title, "", later(5), INFO.changed, len(steps)), base, steps
    )
    assert case_file_text(again) == text


def test_a_file_says_what_it_is_and_has_a_line_for_each_cell_and_step() -> None:
    text = case_file_text(KEPT)
    data = json.loads(text)
    assert list(data) == ["format", "version", "title", "changed", "base", "steps"]
    assert (data["format"], data["version"]) == ("tco case", 1)
    assert data["changed"] == "2026-03-01T12:31:15.000250+00:00"
    assert len(text.splitlines()) == 4 + 1 + len(BASE) + 1 + len(STEPS) + 2


def test_an_empty_case_comes_back() -> None:
    empty = StoredCase(CaseInfo("x", "", "", MOMENT, MOMENT, 0), {}, ())
    assert read_case_file(case_file_text(empty)) == ("", {}, ())


def test_a_case_goes_from_one_store_to_another(tmp_path: Path) -> None:
    here, there = Store(Folder(tmp_path / "here")), Store(Folder(tmp_path / "there"))
    case_id = here.create(BASE, title="Boat")
    for number, one in enumerate(STEPS):
        here.append(case_id, one, after=number, title="Boat")
    text = case_file_text(here.read(case_id))
    title, base, steps = read_case_file(text)
    kept = there.read(there.create(base, title=title, steps=steps))
    assert (kept.base, kept.steps) == (BASE, STEPS)


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)
NAMES = st.text(max_size=8).filter(lambda name: not name.startswith("#"))  # those are rows' own
PATHS = st.lists(NAMES, min_size=1, max_size=5).map(tuple)
MADE = st.builds(
    Step,
    st.lists(st.builds(Edit, PATHS, VALUES, VALUES), max_size=3).map(tuple),
    st.text(max_size=9),
    st.datetimes(timezones=st.just(UTC)).map(lambda at: at.replace(fold=0)),
    tab=st.text(max_size=9),
    who=st.text(max_size=9),
    kind=st.sampled_from(["edit", "return"]),
)


@given(st.text(max_size=9), st.dictionaries(PATHS, VALUES, max_size=5), st.lists(MADE, max_size=4))
@settings(deadline=None, max_examples=60)
def test_whatever_is_in_it_comes_back(title: str, base: dict[Any, Any], made: list[Step]) -> None:
    steps = tuple(one.numbered(number) for number, one in enumerate(made, start=1))
    kept = StoredCase(CaseInfo("x", title, "", MOMENT, MOMENT, len(steps)), base, steps)
    text = case_file_text(kept)
    assert repr(read_case_file(text)) == repr((title, base, steps))


def problems_of(text: str) -> list[str]:
    with pytest.raises(CaseError) as told:
        read_case_file(text, NAME)
    for problem in told.value.problems:
        assert problem.file == NAME
        assert problem.mend
    return [str(problem) for problem in told.value.problems]


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", "hello", "{", "[]", "null", "1", '"x"', "{}", "\ufeff", "PK\x03\x04", "\0" * 9),
        *('{"format": "other"}', 'title = "a case in TOML"\n', "name,price\na,1\n", "[" * 100_000),
        *('{"format": "another", "version": 99}', "NaN", '{"a":' * 100_000),
    ],
    ids=lambda text: ascii(text)[:20],
)
def test_what_is_no_case_file_is_told(text: str) -> None:
    (problem,) = problems_of(text)
    assert "no case file of this program" in problem
    assert "Choose a file" in problem


def test_a_mark_at_the_beginning_does_no_harm() -> None:
    assert read_case_file("\ufeff" + case_file_text(KEPT))[0] == INFO.title


def test_a_newer_version_is_told_and_an_unknown_one() -> None:
    text = case_file_text(KEPT)
    (newer,) = problems_of(text.replace('"version":1', '"version":2'))
    assert "newer version of this program" in newer
    assert "Update this program" in newer
    for odd in ("0", "-1", "true", '"1"', "1.5", "null", "[]"):
        (problem,) = problems_of(text.replace('"version":1', f'"version":{odd}'))
        assert "which version" in problem


@pytest.mark.parametrize("seed", range(60))
def test_a_file_cut_short_or_changed_is_never_an_error_nobody_expects(seed: int) -> None:
    text = case_file_text(KEPT)
    chance = random.Random(seed)
    if seed % 2:
        (problem,) = problems_of(text[: chance.randrange(40, len(text) - 2)])
        assert "damaged" in problem
        assert "cut short" in problem
        return
    spoilt = list(text)
    for _ in range(chance.choice([1, 5, 50])):
        spoilt[chance.randrange(len(spoilt))] = chance.choice('"[]{},:0x\\\ud800\0')
    try:
        title, base, steps = read_case_file("".join(spoilt), NAME)
    except CaseError as error:
        found = error.problems
    else:
        again = CaseInfo("x", title, "", MOMENT, MOMENT, len(steps))
        assert read_case_file(case_file_text(StoredCase(again, base, steps))) == (
            title,
            base,
            steps,
        )
        return
    assert found
    assert all(problem.file == NAME for problem in found)


Spoil = Callable[[dict[str, Any]], object]


def spoilt(spoil: Spoil) -> str:
    data = json.loads(case_file_text(KEPT))
    spoil(data)
    return json.dumps(data)


def put(place: str, *way: Any, value: Any) -> Spoil:
    """A change of one thing in a file: the place, the way down to it, what stands there then."""

    def spoil(data: dict[str, Any]) -> None:
        steps = [place, *way]
        inner: Any = data
        for one in steps[:-1]:
            inner = inner[one]
        inner[steps[-1]] = value

    return spoil


DEEP: list[Any] = []
for _ in range(50):
    DEEP = [DEEP]
OVER = "x" * 1_000_001


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (put("title", value=3), "title: is no title"),
        (put("title", value=OVER), "title: is no title"),
        (put("base", value={}), "base: is no list of cells"),
        (put("base", 0, value=[["a"]]), "cell 1 of the beginning: is no pair"),
        (put("base", 0, value="ab"), "cell 1 of the beginning: is no pair"),
        (put("base", 1, 0, value="system"), "cell 2 of the beginning: has no place"),
        (put("base", 1, 0, value=[]), "cell 2 of the beginning: has no place"),
        (put("base", 1, 0, value=["a", 1]), "cell 2 of the beginning: has a place with a name"),
        (put("base", 1, 0, value=["a"] * 13), "cell 2 of the beginning: has no place"),
        (put("base", 1, 0, value=["a" * 1001]), "cell 2 of the beginning: has a place"),
        (put("base", 1, 0, value=["title"]), "cell 2 of the beginning: is given twice"),
        (put("base", 1, 1, value=OVER), "cell 2 of the beginning: holds more text"),
        (put("base", 1, 1, value=10**301), "cell 2 of the beginning: holds a number"),
        (put("base", 1, 1, value=[-(10**301)]), "cell 2 of the beginning: holds a number"),
        (put("base", 1, 1, value=DEEP), "cell 2 of the beginning: holds lists within lists"),
        (put("base", 1, 1, value={"x" * 1001: 1}), "cell 2 of the beginning: holds more than"),
        (put("base", 1, 1, value=[0] * 200_001), "cell 2 of the beginning: holds more than"),
        (put("steps", value=None), "steps: is no list of steps"),
        (put("steps", 1, value=7), "step 2: is no step"),
        (put("steps", 1, "words", value=None), "step 2: has no text as 'words'"),
        (put("steps", 1, "who", value=1), "step 2: has no text as 'who'"),
        (put("steps", 1, "tab", value=[]), "step 2: has no text as 'tab'"),
        (put("steps", 1, "at", value="yesterday"), "step 2: has no time"),
        (put("steps", 1, "at", value="2026-01-01T00:00:00"), "step 2: has no time with its zone"),
        (put("steps", 1, "at", value="0001-01-01T00:00:00+10:00"), "step 2: has no time"),
        (put("steps", 1, "at", value=12), "step 2: has no time"),
        (put("steps", 1, "kind", value="delete"), "step 2: is of no known kind"),
        (put("steps", 1, "kind", value=["edit"]), "step 2: is of no known kind"),
        (put("steps", 1, "of", value=2), "step 2: does not refer to a step before it"),
        (put("steps", 1, "of", value=-1), "step 2: does not refer to a step before it"),
        (put("steps", 1, "of", value=True), "step 2: does not refer to a step before it"),
        (put("steps", 1, "of", value="1"), "step 2: does not refer to a step before it"),
        (put("steps", 2, "of", value=0), "step 3: does not say which step it takes back"),
        (put("steps", 1, "edits", value="x"), "step 2: has no list of edits"),
        (put("steps", 1, "edits", 0, value=[["a"], 1]), "step 2: has an edit that is not"),
        (put("steps", 1, "edits", 0, 0, value=None), "step 2: has a cell that has no place"),
        (put("steps", 1, "edits", 0, 1, value=OVER), "step 2: has a cell that holds more text"),
        (put("steps", 1, "edits", 0, 2, value=DEEP), "step 2: has a cell that holds lists"),
    ],
    ids=lambda value: value[:50] if isinstance(value, str) else "",
)
def test_what_is_wrong_is_told_with_its_place(spoil: Spoil, says: str) -> None:
    (problem,) = problems_of(spoilt(spoil))
    assert problem.startswith(f"{NAME}, {says}"), problem
    assert len(problem) < 400


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_numbers_that_are_none_are_told(number: str) -> None:
    text = case_file_text(KEPT).replace("4.5", number)
    (problem,) = problems_of(text)
    assert "number" in problem


def test_all_problems_are_told_at_once_but_not_without_end() -> None:
    def spoil(data: dict[str, Any]) -> None:
        data["title"] = None
        data["base"][0] = 1
        data["steps"][2]["kind"] = ""

    assert len(problems_of(spoilt(spoil))) == 3
    many = json.loads(case_file_text(KEPT))
    many["base"] = [1] * 5000
    assert len(problems_of(json.dumps(many))) == 20


def test_absurd_sizes_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    text = case_file_text(KEPT)
    for name, value, says in (
        ("_LARGEST_TEXT", len(text) - 1, "larger than any case"),
        ("_MOST_CELLS", len(BASE) - 1, "longer than any case's"),
        ("_MOST_STEPS", len(STEPS) - 1, "longer than any case's"),
    ):
        with monkeypatch.context() as patched:
            patched.setattr(case_file, name, value)
            assert says in problems_of(text)[0]
            patched.setattr(case_file, name, value + 1)
            assert read_case_file(text)[0] == INFO.title
    step_of_many = Step(tuple(Edit((f"{n}",), None, n) for n in range(6)), "", MOMENT)
    monkeypatch.setattr(case_file, "_MOST_CELLS", 6)
    kept = StoredCase(INFO, {}, tuple(step_of_many.numbered(n) for n in range(1, 12)))
    assert "more cells than any case's" in problems_of(case_file_text(kept))[0]


def test_a_time_of_another_zone_is_read_in_utc() -> None:
    text = case_file_text(KEPT).replace("12:30:15.000250+00:00", "18:00:15.000250+05:30")
    at = read_case_file(text)[2][0].at
    assert (at, at.tzinfo) == (MOMENT, UTC)
    assert isinstance(at, datetime)


def test_half_a_character_in_a_file_is_mended() -> None:
    info = CaseInfo(id="a", title="A", owner="", created=MOMENT, changed=MOMENT, steps=0)
    text = case_file_text(StoredCase(info, {("title",): "QQQ"}, ()))
    _title, base, _ = read_case_file(text.replace("QQQ", r"a\ud83d"), file="a.json")
    assert base[("title",)] == "a\ufffd"
