"""From a log of capacity tests and a case to the judgement: which bank, which promise."""

import difflib
from dataclasses import dataclass
from datetime import date, timedelta

from tco.case import Candidate, Case, CaseError, Problem, specify
from tco.case.capacity_models import CapacityLog
from tco.checkup.health_fit import DAYS_PER_YEAR, HealthFit
from tco.checkup.old_bank import OldBank, judge_old_bank
from tco.checkup.old_need import old_bank_arrangement, old_need
from tco.checkup.promise import Promise, judge_promise
from tco.compare import compare
from tco.physics.chemistry import CHEMISTRIES, Chemistry

HIGHEST_OVER_RATED = 1.5
"""No battery gives half as much again as its label: a slip of a unit. Common knowledge."""

MOST_OVER_RATED = 1.15
"""Share of the rated Ah, corrected, above which a test is taken to be of another battery. New ones
often give a few percent more than their label, hardly ever 15. Common practice, no source."""
LONGEST_WARRANTY_YEARS = 50.0


@dataclass(frozen=True)
class Assessment:
    """A judgement and whose it is.

    `assumed` holds what neither the log nor the case states, one sentence each.
    """

    label: str
    chemistry: Chemistry
    judged: Promise | OldBank
    assumed: tuple[str, ...]
    imperial: bool = False


def assess(
    log: CapacityLog,
    case: Case,
    *,
    today: date,
    candidate: str | None = None,
    strings: int | None = None,
    bought: date | None = None,
    old_bank: bool = False,
    needed: float | None = None,
    file: str = "",
) -> Assessment:
    """Judge a log: the candidate's promise, or whether the old bank is finished.

    Arguments win over what the log states, the log over the case. The health the case needs of
    the old bank is simulated where `needed` is None.

    Raises
    ------
    CaseError
        With everything that is missing or does not fit, at once.
    """
    bought = bought if bought is not None else log.bought
    if old_bank or (log.old_bank and candidate is None):
        return _old(log, case, today=today, bought=bought, needed=needed, file=file)
    problems: list[Problem] = []
    found = _candidate(case, candidate or log.candidate, file=file, problems=problems)
    if bought is None:
        mend = "Add a line '# bought: 2025-03-01', or give the date with --bought."
        problems.append(Problem("does not say when it was bought", file=file, mend=mend))
    problems.extend(_date_problems(log, bought=bought, today=today, file=file))
    if found is not None and log.chemistry not in (None, found.chemistry):
        what = f"says {log.chemistry}, but {found.name!r} is {found.chemistry}"
        problems.append(Problem(what, file=file, field="chemistry", mend="Which is right?"))
    if problems or found is None or bought is None:
        raise CaseError(problems)
    pack = specify(found)
    assumed = []
    count = strings if strings is not None else log.strings
    if count is None:
        count = 1
        assumed.append("The number of strings is not stated: one.")
    years, threshold = log.warranty_years, log.warranty_health
    if years is None:
        years = pack.warranty_years
    if threshold is None:
        threshold = pack.end_of_life
        if years > 0.0:
            how = "is assumed" if "end_of_life" in pack.assumed else "comes from the datasheet"
            assumed.append(
                f"The {threshold:.0%} health that the warranty promises {how}: read its wording."
            )
    if not 0.0 < threshold < 1.0:
        what = f"promises a health of {threshold:.0%} to the end, which is no promise to judge by"
        mend = "Add a line '# warranty_health: 0.8' with the warranty's own figure."
        problems.append(Problem(what, file=file, item=found.name, mend=mend))
    if years > LONGEST_WARRANTY_YEARS:
        what, allowed = "is too long", f"up to {LONGEST_WARRANTY_YEARS:g} years"
        problems.append(
            Problem(what, file=file, field="warranty_years", given=f"{years:g}", allowed=allowed)
        )
    rated = log.rated_ah if log.rated_ah is not None else count * pack.capacity_ah
    problems.extend(_impossible_tests(log, rated_ah=rated, file=file))
    if problems:
        raise CaseError(problems)
    forecast = _forecast(case, found, parallel=count)
    if forecast is None:
        assumed.append(
            f"The case has no arrangement of this pack in {count} strings, so there is no forecast "
            "for your use; the fading expected beforehand is that of the warranty."
        )
    judged = judge_promise(
        log.tests,
        chemistry=pack.chemistry,
        rated_ah=rated,
        bought=bought,
        today=today,
        warranty_years=years,
        threshold=threshold,
        forecast_health=forecast,
    )
    _refuse_another_battery(judged.fit, rated_ah=rated, file=file)
    label = f"{found.name}, {count} string{'s' * (count > 1)}, {rated:g} Ah rated"
    return Assessment(label, pack.chemistry, judged, tuple(assumed), case.units == "imperial")


def _old(
    log: CapacityLog,
    case: Case,
    *,
    today: date,
    bought: date | None,
    needed: float | None,
    file: str,
) -> Assessment:
    problems: list[Problem] = []
    assumed: list[str] = []
    old = case.system.old_bank
    key = log.chemistry or (old.chemistry if old is not None else None)
    rated = log.rated_ah or (old.capacity_ah if old is not None else None)
    if bought is None and old is not None and old.age_years is not None:
        bought = today - timedelta(days=round(old.age_years * DAYS_PER_YEAR))
        assumed.append(f"Bought about {bought}, by the age of {old.age_years:g} years in the case.")
    needs = (
        (key, "the chemistry", "chemistry: agm", "chemistry"),
        (rated, "the rated Ah", "rated_ah: 220", "capacity_ah"),
        (bought, "when it was bought", "bought: 2018-05-01", "age_years"),
    )
    for value, what, line, field in needs:
        if value is None:
            mend = f"Add a line '# {line}' to the log, or {field} to [system.old_bank] of the case."
            problems.append(Problem(f"does not say {what} of the old bank", file=file, mend=mend))
    problems.extend(_date_problems(log, bought=bought, today=today, file=file))
    if rated is not None:
        problems.extend(_impossible_tests(log, rated_ah=rated, file=file))
    if problems or key is None or rated is None or bought is None:
        raise CaseError(problems)
    need = None
    if needed is None and old is not None:
        need = old_need(case, old_bank_arrangement(case, rated_ah=rated, chemistry=key))
    chemistry = CHEMISTRIES[key]
    judged = judge_old_bank(
        log.tests,
        chemistry=chemistry,
        rated_ah=rated,
        bought=bought,
        today=today,
        need=need,
        needed_health=needed,
    )
    _refuse_another_battery(judged.fit, rated_ah=rated, file=file)
    label = f"The old bank, {chemistry.name}, {rated:g} Ah rated"
    return Assessment(label, chemistry, judged, tuple(assumed), case.units == "imperial")


def _candidate(
    case: Case, name: str | None, *, file: str, problems: list[Problem]
) -> Candidate | None:
    names = [candidate.name for candidate in case.candidates]
    if name is None:
        if len(names) == 1:
            return case.candidates[0]
        mend = "Add a line '# candidate: NAME' (or '# old bank: yes'), or give --candidate NAME."
        problems.append(Problem("does not say which battery was tested", file=file, mend=mend))
        return None
    wanted = " ".join(name.lower().split())
    same = [c for c in case.candidates if " ".join(c.name.lower().split()) == wanted]
    if len(same) == 1:
        return same[0]
    close = difflib.get_close_matches(name, names, n=3) or names[:8]
    problems.append(
        Problem(
            "is no candidate of the case",
            file=file,
            field="candidate",
            given=repr(name),
            allowed=", ".join(map(repr, close)) or "the case has no candidates",
        )
    )
    return None


def _date_problems(
    log: CapacityLog, *, bought: date | None, today: date, file: str
) -> list[Problem]:
    problems = []
    if bought is not None and bought > today:
        what = f"was bought on {bought}, after today ({today})"
        problems.append(Problem(what, file=file, field="bought"))
    for number, test in enumerate(log.tests, start=1):
        where = f"test {number}"
        if test.tested_on > today:
            what = f"is dated {test.tested_on}, after today ({today})"
            problems.append(Problem(what, file=file, item=where, mend="Check the date."))
        elif bought is not None and bought <= today and test.tested_on < bought:
            what = f"is dated {test.tested_on}, before the purchase ({bought})"
            problems.append(Problem(what, file=file, item=where, mend="Check both dates."))
    return problems


def _impossible_tests(log: CapacityLog, *, rated_ah: float, file: str) -> list[Problem]:
    """Tests that gave so much more than the rated Ah that they are of another battery."""
    mend = "Check the unit and the number of strings, or state '# rated_ah:' of what was tested."
    return [
        Problem(
            f"gave {test.measured_ah:g} Ah of a rated {rated_ah:g} Ah",
            file=file,
            item=f"test {number}",
            field="measured_ah",
            allowed=f"up to {HIGHEST_OVER_RATED:g} times the rated Ah",
            mend=mend,
        )
        for number, test in enumerate(log.tests, start=1)
        if test.measured_ah > HIGHEST_OVER_RATED * rated_ah
    ]


def _refuse_another_battery(fit: HealthFit, *, rated_ah: float, file: str) -> None:
    """Refuse a verdict on tests that gave more, corrected, than the battery said to be theirs can.

    A test counts where it is above MOST_OVER_RATED by more than its standard uncertainty, which is
    large where it had to be corrected far.

    Raises
    ------
    CaseError
        Naming how many tests, and what to look at.
    """
    over = [t.health for t in fit.tests if t.health - t.uncertainty > MOST_OVER_RATED]
    if not over:
        return
    low, high = f"{min(over):.0%}", f"{max(over):.0%}"
    gave = low if low == high else f"{low} to {high}"
    raise CaseError(
        [
            Problem(
                f"is hardly of a battery of {rated_ah:g} Ah: {len(over)} of {len(fit.tests)} "
                f"test{'s' * (len(fit.tests) > 1)} gave {gave} of that, so no verdict is given",
                file=file,
                field="measured_ah",
                allowed=f"about {MOST_OVER_RATED:.0%} of the rated Ah at most, once corrected",
                mend="Check the rated Ah, the number of strings, and which battery was tested.",
            )
        ]
    )


def _forecast(case: Case, candidate: Candidate, *, parallel: int) -> list[float] | None:
    """Health at each year's end of so many strings of a candidate, by the simulated years.

    Of bare cells so many side by side, in one block or several.
    """
    alone = compare(case.model_copy(update={"candidates": (candidate,)}))
    for result in alone.results:
        if result.arrangement.pieces_in_parallel == parallel:
            return [min(max(float(health), 0.0), 1.0) for health in result.life.health]
    return None
