"""What was read of a case: what is stated, what is assumed instead, and what looks doubtful."""

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from tco.case import Case, specify
from tco.case.evidence import WarrantyTerms
from tco.case.odd_values import Doubt
from tco.case.plausibility import case_doubts
from tco.checkup.old_need import OldNeed
from tco.report.checkup.words import need_sentence
from tco.report.failures.words import taken_for_granted
from tco.report.inputs.words import assumed_words
from tco.report.lines import as_text, wrapped
from tco.report.words import count
from tco.sentences import told


def case_text(case: Case, need: OldNeed | None) -> str:
    """A case in words: its size, every assumed value with its source, every doubt.

    `need` is what it asks of its old bank, of `tco.checkup.old_need.need_of`.
    """
    lines = wrapped(
        f"{case.title}: {case.system.nominal_voltage_v} V, {count(len(case.loads), 'load')}, "
        f"{count(len(case.sources.chargers()), 'charger')}, "
        f"{count(len(case.candidates), 'candidate')}. Nothing in it has to be mended."
    )
    old = need_sentence(case, need)
    if old:
        lines += ["", *wrapped(told(old, case.units))]
    taken = [*assumed_values(case), *_warranties_not_typed(case)]
    if taken:
        lines += ["", "Not stated in the case, so assumed"]
        for entry in taken:
            lines += wrapped(entry, indent=2, hang=2)
    if case.candidates:
        lines += ["", "Not stated for a candidate, so assumed"]
    for candidate in case.candidates:
        assumed = specify(candidate).assumed
        if assumed:
            lines += wrapped(candidate.name, indent=2)
        for field, datum in assumed.items():
            said = told(assumed_words(datum), case.units)
            lines += wrapped(f"{field}: {said}", indent=4, hang=2)
    lines += _doubtful(case)
    return as_text(lines)


def _doubtful(case: Case) -> list[str]:
    """Every doubt: values of the case by the entry they stand in, then claims by candidate."""
    found = [
        (d.location[0] == "candidates", _name_at(case, d), told(d.sentence, case.units))
        for d in case_doubts(case)
    ]
    lines: list[str] = []
    values = [f"{name}: {said}" if name else said for claim, name, said in found if not claim]
    if values:
        lines += ["", "Values to look at again"]
    for sentence in dict.fromkeys(values):
        lines += wrapped(sentence, indent=2, hang=2)
    claims: dict[str, list[str]] = {}
    for claim, name, said in found:
        if claim:
            claims.setdefault(name, []).append(said)
    if claims:
        lines += ["", "Doubtful, ask before buying"]
    for name, sentences in claims.items():
        lines += wrapped(name, indent=2)
        for sentence in sentences:
            lines += wrapped(sentence, indent=4, hang=2)
    return lines


def _name_at(case: Case, doubt: Doubt) -> str:
    """What the entry of a list that a doubt stands in is called; "" elsewhere."""
    found: Any = case
    name = ""
    for step in doubt.location:
        found = found[step] if isinstance(step, int) else getattr(found, step)
        if isinstance(found, BaseModel) and isinstance(step, int):
            name = getattr(found, "name", "")
    return name


def _warranties_not_typed(case: Case) -> list[str]:
    """What is taken for granted of the warranties of which no terms are typed."""
    typed = {row.candidate for row in case.warranties}
    if all(c.name in typed or not c.warranty_years for c in case.candidates):
        return []
    clauses = taken_for_granted(WarrantyTerms(candidate="any"), commercial=case.use.commercial)
    return [f"warranties without terms: {'; '.join(clauses)}"]


def assumed_values(case: Case) -> tuple[str, ...]:
    """Everything of a case, its candidates aside, that was not stated, as `field = value`.

    Entries of a list that lack the same field stand together, by name. What was left open and has
    no default value (a mass limit) is not listed.
    """
    found: dict[str, list[str]] = {}
    for text, entry in _assumed(case, "", "", skip=("title", "story", *_CANDIDATES)):
        found.setdefault(text, []).append(entry)
    return tuple(
        f"{text} ({', '.join(entries)})" if all(entries) else text
        for text, entries in found.items()
    )


_CANDIDATES = ("candidates", "candidates_file")


def _assumed(
    model: BaseModel, path: str, entry: str, *, skip: tuple[str, ...] = ()
) -> Iterator[tuple[str, str]]:
    """`field = value`, and the name of the list entry it belongs to."""
    for name in type(model).model_fields:
        value, place = getattr(model, name), f"{path}{name}"
        if name in skip or value is None or value in ("", ()):
            continue
        if isinstance(value, BaseModel):
            yield from _assumed(value, f"{place}.", entry)
        elif name not in model.model_fields_set:
            yield f"{place} = {_short(value)}", entry
        elif isinstance(value, tuple):
            for number, member in enumerate(value, start=1):
                if isinstance(member, BaseModel):
                    label = getattr(member, "name", str(number))
                    yield from _assumed(member, f"{place}.", label)


def _short(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        if any(isinstance(member, BaseModel) for member in value):
            return f"the tool's own list of {len(value)}"
        if value == tuple(range(1, 13)):
            return "every month"
        return ", ".join(_short(member) for member in value)
    return str(value)
