"""A store against a plain model of it: whatever is done in whatever order, both say the same."""

import shutil
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    multiple,
    rule,
    run_state_machine_as_test,
)

from tco.workspace.edits import Edit, Step
from tco.workspace.schema.stored import Behind, NoSuchCase
from tco.workspace.store import Store
from tests.workspace.store_helpers import Where, later

pytestmark = pytest.mark.slow

OWNERS = ["", "ann", "bob"]
TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=5,
)
PATHS = st.lists(st.text(max_size=8), min_size=1, max_size=4).map(tuple)
DOCUMENTS = st.dictionaries(PATHS, VALUES, max_size=4)
EDITS = st.lists(st.builds(Edit, PATHS, VALUES, VALUES), max_size=3).map(tuple)
STEPS = st.builds(
    Step,
    EDITS,
    TEXT,
    st.integers(0, 10**8).map(later),
    tab=TEXT,
    who=TEXT,
    kind=st.sampled_from(["edit", "undo", "redo", "return"]),
    of=st.integers(0, 5),
)


@dataclass
class Model:
    """What a case should be."""

    owner: str
    title: str
    base: dict[Any, Any]
    steps: list[Step] = field(default_factory=list)


class Keeping(RuleBasedStateMachine):
    """Everything one can do with a store, and with the same kept in a dict."""

    kind = "folder"
    there = Bundle("there")
    gone = Bundle("gone")

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="tco-machine-"))
        self.where = (
            Where("folder", folder=self.folder / "cases")
            if self.kind == "folder"
            else Where("sqlite", address=f"sqlite:///{self.folder}/cases.sqlite")
        )
        self.store: Store = self.where.open()
        self.other: Store = self.where.open()
        self.model: dict[str, Model] = {}
        self.removed: dict[str, Model] = {}
        self.order: list[str] = []

    def changed(self, case_id: str) -> None:
        self.order = [case_id, *(one for one in self.order if one != case_id)]

    @rule(target=there, base=DOCUMENTS, title=TEXT, owner=st.sampled_from(OWNERS))
    def create(self, base: dict[Any, Any], title: str, owner: str) -> str:
        case_id = self.store.create(base, title=title, owner=owner)
        assert case_id not in self.model
        assert case_id not in self.removed
        self.model[case_id] = Model(owner, title, base)
        self.changed(case_id)
        return case_id

    @rule(case_id=there, made=STEPS, title=TEXT)
    def append(self, case_id: str, made: Step, title: str) -> None:
        model = self.model[case_id]
        kept = self.store.append(case_id, made, after=len(model.steps), title=title)
        assert kept == made.numbered(len(model.steps) + 1)
        model.steps.append(kept)
        model.title = title
        self.changed(case_id)

    @rule(case_id=there, made=STEPS, behind=st.integers(1, 5))
    def append_stale(self, case_id: str, made: Step, behind: int) -> None:
        steps = self.model[case_id].steps
        after = max(0, len(steps) - behind)
        if after == len(steps):
            return
        with pytest.raises(Behind) as told:
            self.store.append(case_id, made, after=after, title="stale")
        assert told.value.steps == tuple(steps[after:])

    @rule(target=there, case_id=there, title=TEXT, made=st.lists(STEPS, max_size=2))
    def duplicate(self, case_id: str, title: str, made: list[Step]) -> str:
        old = self.model[case_id]
        new = self.store.duplicate(case_id, title=title, owner=old.owner, steps=made)
        all_steps = [
            one.numbered(number) for number, one in enumerate([*old.steps, *made], start=1)
        ]
        self.model[new] = Model(old.owner, title, old.base, all_steps)
        self.changed(new)
        return new

    @rule(target=gone, case_id=consumes(there))
    def remove(self, case_id: str) -> str:
        self.store.remove(case_id, owner=self.model[case_id].owner)
        self.removed[case_id] = self.model.pop(case_id)
        return case_id

    @rule(target=there, case_id=consumes(gone))
    def put_back(self, case_id: str) -> Any:
        model = self.removed.pop(case_id, None)
        if model is None:
            return multiple()
        self.store.put_back(case_id, owner=model.owner)
        self.model[case_id] = model
        return case_id

    @rule()
    def reopen(self) -> None:
        self.store.close()
        self.store, self.other = self.where.open(), self.store

    @rule()
    def swap(self) -> None:
        self.store, self.other = self.other, self.store

    @invariant()
    def the_lists_are_the_same(self) -> None:
        for owner in OWNERS:
            expected = [
                (one, self.model[one].title, owner, len(self.model[one].steps))
                for one in self.order
                if one in self.model and self.model[one].owner == owner
            ]
            for store in (self.store, self.other):
                found = [(i.id, i.title, i.owner, i.steps) for i in store.cases(owner=owner)]
                assert found == expected
            assert self.store.put_aside(owner=owner) == ()

    @invariant()
    def the_cases_are_the_same(self) -> None:
        for case_id, model in self.model.items():
            kept = self.other.read(case_id, owner=model.owner)
            assert repr(dict(kept.base)) == repr(model.base)
            assert repr(kept.steps) == repr(tuple(model.steps))
            half = len(model.steps) // 2
            assert self.other.steps_after(case_id, half) == tuple(model.steps[half:])
        for case_id, model in self.removed.items():
            with pytest.raises(NoSuchCase):
                self.other.read(case_id, owner=model.owner)

    def teardown(self) -> None:
        if hasattr(self, "folder"):
            self.store.close()
            self.other.close()
            shutil.rmtree(self.folder)


class KeepingInOneDatabase(Keeping):
    """The same in one database."""

    kind = "sqlite"


@pytest.mark.parametrize("machine", [Keeping, KeepingInOneDatabase])
def test_a_store_is_as_its_model(machine: type[Keeping]) -> None:
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=20,
            stateful_step_count=20,
            deadline=None,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )
