"""One browser tab at work on one case: every edit is kept at once, and nobody's is lost.

A desk shows a *view* of a case: its journal as far as this tab knows it. Edits are checked against
what others did meanwhile. What others did elsewhere in the case stands as well, and is told; it
comes into the view when it is asked for. Where two edits meet in one cell, nothing is written over:
the desk holds both and asks.
"""

import secrets
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from tco.workspace import journal
from tco.workspace.document import is_row, under
from tco.workspace.edits import (
    Document,
    Edit,
    Kind,
    Path,
    Step,
    Value,
    applied,
    difference,
    now,
    same,
)
from tco.workspace.schema.stored import AlreadyThere, Behind, NoSuchCase, NotKept, NotRead
from tco.workspace.store import Store, new_id

_TRIES = 20
"""How often an edit is offered again when others keep writing at the same time."""


@dataclass(frozen=True)
class Question:
    """Edits that met: this tab's, which are not written, and somebody else's, which stand."""

    mine: tuple[Edit, ...]
    theirs: tuple[Edit, ...]


@dataclass(frozen=True)
class Unkept:
    """A step that is not written yet, and the numbers of others' steps it was made knowing of."""

    step: Step
    knew: frozenset[int]


@dataclass
class Desk:
    """What a tab holds of a case.

    `case_id` is what the store calls the case from its first edit on; until then (`begun` is false)
    it is in no store. `steps` are those in the view, `waiting` those of others that are not;
    `held_back` are this tab's own that could not be written, `trouble` says why. `blind` says why
    it is not known what others do. `questions` are open conflicts.
    """

    store: Store
    base: Document
    case_id: str
    begun: bool = False
    owner: str = ""
    title: str = ""
    tab: str = field(default_factory=lambda: secrets.token_hex(4))
    steps: tuple[Step, ...] = ()
    waiting: tuple[Step, ...] = ()
    held_back: tuple[Unkept, ...] = ()
    trouble: str = ""
    blind: str = ""
    questions: tuple[Question, ...] = ()
    view: dict[Path, Value] = field(default_factory=dict)
    opened: int = 0

    def __post_init__(self) -> None:
        """Lay the steps given over the base."""
        self.opened = self.head
        self._lay()

    def _lay(self) -> None:
        self.view = journal.at(journal.at(self.base, self.steps), self.unkept)

    @property
    def unkept(self) -> tuple[Step, ...]:
        """This tab's own steps that could not be written yet."""
        return tuple(held.step for held in self.held_back)

    @property
    def head(self) -> int:
        """Number of the last step in the store that this tab knows of."""
        return max((step.number for step in (*self.steps, *self.waiting)), default=0)

    @property
    def history(self) -> tuple[Step, ...]:
        """Every step known, in the order of the journal; those not kept yet come last."""
        kept = sorted((*self.steps, *self.waiting), key=lambda step: step.number)
        return (*kept, *self.unkept)

    def do(
        self, edits: Iterable[Edit], words: str, *, kind: Kind = "edit", of: int = 0
    ) -> tuple[Edit, ...]:
        """Make edits: on disk first, then in the view.

        Edits that change nothing are passed over. Returns those made; the others stand in
        `questions`. Where nothing can be written, `trouble` says why and the edits stand in the
        view all the same, to be written with the next one or by `retry`.
        """
        wanted = journal.squeezed(edits)
        if not wanted:
            return ()
        self.look()
        wanted = self._asked_where_overtaken(wanted)
        if wanted:
            step = Step(wanted, words, now(), self.tab, self.owner, kind, of)
            self._write((*self.held_back, Unkept(step, self._known())))
        return tuple(e for e in wanted if same(self.view.get(e.path), e.after))

    def _write(self, steps: Sequence[Unkept]) -> None:
        """Write steps in order; what cannot be written is held, and told."""
        self.held_back, self.trouble = tuple(steps), ""
        while self.held_back and not self.trouble:
            try:
                kept = self._appended(self.held_back[0])
            except (NotKept, NoSuchCase) as problem:
                self.trouble = str(problem)
            else:
                self.held_back = self.held_back[1:]
                self.steps = (*self.steps, *([kept] if kept is not None else []))
        self._lay()

    def _appended(self, held: Unkept) -> Step | None:
        """The step as it is kept; None where all of it met others' edits and is asked about."""
        step, knew = held.step, held.knew
        for _ in range(_TRIES):
            left = self._asked_where_they_meet(step.edits, self._others_but(knew))
            if step.edits and not left:
                return None
            if len(left) < len(step.edits):
                step = replace(step, edits=left, words=f"{step.words} (in part)")
            knew = self._known()  # after a question everything known is in the view
            self.held_back = (Unkept(step, knew), *self.held_back[1:])
            title = applied(journal.at(self.base, self.steps), step.edits).get(("title",))
            named = str(title or self.title or "Untitled case")
            try:
                if self.begun:
                    return self.store.append(self.case_id, step, after=self.head, title=named)
                self.store.create(
                    self.base, case_id=self.case_id, title=named, owner=self.owner, steps=(step,)
                )
            except Behind as behind:
                self.waiting = (*self.waiting, *behind.steps)
            except AlreadyThere:  # another tab at the same address was first
                self.look()
                if not self.begun:  # it is somebody else's, or was taken off the list
                    self.case_id = new_id(named)
            else:
                self.begun = True
                return step.numbered(1)
        raise NotKept("Others write to this case all the time. Try again.")

    def _known(self) -> frozenset[int]:
        """Numbers of others' steps in the view."""
        return frozenset(step.number for step in self.steps if step.tab != self.tab)

    def _others_but(self, knew: frozenset[int]) -> list[Edit]:
        """Edits of others, in the view or not, except of steps that were known."""
        known = sorted((*self.steps, *self.waiting), key=lambda step: step.number)
        others = (step for step in known if step.tab != self.tab and step.number not in knew)
        return [edit for step in others for edit in step.edits]

    def _asked_where_they_meet(
        self, edits: Sequence[Edit], others: Sequence[Edit]
    ) -> tuple[Edit, ...]:
        """The edits that meet none of others; for the rest questions are opened."""
        return self._asked(edits, lambda unit: journal.meeting(unit, others))

    def _asked_where_overtaken(self, edits: Sequence[Edit]) -> tuple[Edit, ...]:
        """The edits whose cells still hold what they held where they were typed."""
        late = {edit.path for edit in journal.in_the_way(edits, self.view)}

        def made_since(unit: Sequence[Edit]) -> tuple[Edit, ...]:
            found = [self._last_edit(e.path) for e in unit if e.path in late]
            return tuple(edit for edit in found if edit is not None)

        return self._asked(edits, made_since)

    def _last_edit(self, path: Path) -> Edit | None:
        """The last edit known of a cell, or that took out its row."""
        row = journal.row_of(path)
        for step in reversed(self.history):
            for edit in step.edits:
                if edit.path == path or (edit.path == row and edit.after is None):
                    return edit
        return Edit(path, None, self.view.get(path))

    def _asked(
        self, edits: Sequence[Edit], met_by: Callable[[Sequence[Edit]], tuple[Edit, ...]]
    ) -> tuple[Edit, ...]:
        """The edits that nothing is met by; of the rest, those that belong together are asked once.

        What is made of a row that is gone belongs together, and a name with what follows it.
        """
        units = [(unit, met_by(unit)) for unit in journal.units(edits)]
        asked: dict[Path, tuple[list[Edit], list[Edit]]] = {}
        for unit, met in units:
            if met:
                mine, theirs = asked.setdefault(_together(unit, met), ([], []))
                mine.extend(unit)
                theirs.extend(edit for edit in met if edit not in theirs)
        left: list[Edit] = []
        for unit, met in units:
            if not met and _together(unit, ()) in asked:
                asked[_together(unit, ())][0].extend(unit)
            elif not met:
                left.extend(unit)
        if asked:
            paths = {edit.path for mine, _ in asked.values() for edit in mine}
            older = (q for q in self.questions if not paths & {edit.path for edit in q.mine})
            fresh = (Question(tuple(mine), tuple(theirs)) for mine, theirs in asked.values())
            self.questions = (*older, *fresh)
            self.take_in()
        return tuple(left)

    def answer(self, question: Question, *, mine: bool, words: str = "settled") -> None:
        """Settle a question: this tab's edits are made over the others, or let go."""
        self.questions = tuple(q for q in self.questions if q != question)
        if not mine:
            return
        row = journal.row_of(question.mine[0].path)
        edits = [Edit(e.path, self.view.get(e.path), e.after) for e in question.mine]
        if row is not None and any(e.path == row and e.after is None for e in question.mine):
            edits = [Edit(path, value, None) for path, value in under(self.view, row).items()]
        elif row is not None and row not in self.view:
            edits = [*self._row_again(row), *edits]
        self.do(edits, words)

    def about(self, question: Question) -> dict[Path, Value]:
        """The view, with the row that a question is about as it last stood: so it has its name."""
        row = journal.row_of(question.mine[0].path)
        if row is None or row in self.view:
            return self.view
        return applied(self.view, self._row_again(row))

    def _row_again(self, row: Path) -> list[Edit]:
        """Edits that put a row back which somebody took out."""
        for step in reversed(self.history):
            if any(edit.path == row and edit.after is None for edit in step.edits):
                gone = (edit for edit in step.edits if edit.path[: len(row)] == row)
                return [edit.reversed() for edit in gone]
        return []

    def note(self, step: Step) -> None:
        """Write a step that is only told, such as where the case came from."""
        self._write((*self.held_back, Unkept(step, self._known())))

    def retry(self) -> None:
        """Offer again what could not be written."""
        if self.held_back:
            self._write(self.held_back)

    def look(self) -> tuple[Step, ...]:
        """Ask the store what others did; returns what waits to be taken in."""
        try:
            if self.begun:
                newer = self.store.steps_after(self.case_id, self.head)
            else:
                newer = self.store.read(self.case_id, owner=self.owner).steps
            self.waiting, self.begun, self.blind = (*self.waiting, *newer), True, ""
        except NoSuchCase:
            gone = "This case was taken off the list by somebody else."
            self.blind = gone if self.begun else ""
        except NotRead as problem:
            self.blind = str(problem)
        return self.waiting

    def take_in(self) -> None:
        """Bring into the view what others did."""
        self.steps = tuple(sorted((*self.steps, *self.waiting), key=lambda step: step.number))
        self.waiting = ()
        self._lay()

    def to_undo(self) -> Step | None:
        """The step that `undo` would take back."""
        if self.unkept:
            return self.unkept[-1]
        return journal.undoable(self.steps, tab=self.tab, opened=self.opened)

    def to_redo(self) -> Step | None:
        """The step that `redo` would make again."""
        return journal.redoable(self.steps, tab=self.tab, opened=self.opened)

    def undo(self) -> None:
        """Take back the last step that stands; one that could not be kept is let go."""
        self.retry()
        if self.held_back:
            self.held_back = self.held_back[:-1]
            self._lay()
            return
        step = self.to_undo()
        if step is not None:
            edits = [edit.reversed() for edit in reversed(step.edits)]
            self._again(edits, f"Undone: {step.words}", "undo", step.number)

    def redo(self) -> None:
        """Make again what was undone last."""
        step = self.to_redo()
        if step is not None:
            self._again(step.edits, f"Made again: {step.words}", "redo", step.number)

    def _again(self, edits: Sequence[Edit], words: str, kind: Kind, of: int) -> None:
        """Make edits of the past as far as their cells still hold what they then held.

        The step is written even where nothing is left of it, so that the one it speaks of is not
        offered again.
        """
        self.look()
        others = [edit for step in self.waiting for edit in step.edits]
        lost = {edit.path for edit in journal.in_the_way(edits, self.view)}

        def stands(unit: Sequence[Edit]) -> bool:
            met = any(edit.path in lost for edit in unit) or journal.meeting(unit, others)
            return not met and not self._holds_more(unit)

        left = [edit for unit in journal.units(edits) if stands(unit) for edit in unit]
        if len(left) < len(edits):
            words = f"{words} (but for what was changed since)"
        step = Step(journal.squeezed(left), words, now(), self.tab, self.owner, kind, of)
        self._write((*self.held_back, Unkept(step, self._known())))

    def _holds_more(self, unit: Sequence[Edit]) -> bool:
        """Whether edits take out a row in which something stands that they do not speak of."""
        going = [e.path for e in unit if e.after is None and is_row(e.path[-1])]
        spoken_of = {edit.path for edit in unit}
        return any(set(under(self.view, row)) - spoken_of for row in going)

    def at(self, number: int) -> dict[Path, Value]:
        """The case as it was after a step of the journal; 0: as it was opened first."""
        known = (step for step in self.history if 0 < step.number <= number)
        return journal.at(self.base, known)

    def return_to(self, number: int, words: str) -> tuple[Edit, ...]:
        """Go back to a moment, as one step that can itself be undone; returns the edits made."""
        self.look()
        self.take_in()
        return self.do(difference(self.view, self.at(number)), words, kind="return", of=number)


def _together(unit: Sequence[Edit], met: Sequence[Edit]) -> Path:
    """What an edit is asked about together with: its row, all that speaks of a name, or itself."""
    path = unit[0].path
    if path[-1] in ("name", "candidate"):
        return ("names",)
    row = journal.row_of(path)
    gone = any(edit.after is None and is_row(edit.path[-1]) for edit in met)
    return row if gone and row is not None else path


def new_desk(
    store: Store, base: Document, *, case_id: str = "", owner: str = "", title: str = ""
) -> Desk:
    """A desk for a case that is in no store yet, under a new id where none is given."""
    return Desk(
        store=store,
        base=base,
        case_id=case_id or new_id(str(base.get(("title",)) or title)),
        owner=owner,
        title=title,
    )


def desk_of(store: Store, case_id: str, *, owner: str = "") -> Desk:
    """A desk for a case in the store, with everything done to it so far.

    Raises
    ------
    NoSuchCase
        Where there is none of that id, or it belongs to somebody else.
    """
    kept = store.read(case_id, owner=owner)
    return Desk(
        store=store,
        base=kept.base,
        case_id=case_id,
        begun=True,
        owner=owner,
        title=kept.info.title,
        steps=tuple(kept.steps),
    )
