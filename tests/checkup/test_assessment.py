"""A log of capacity tests against a case: which battery it is judged as, and what is refused."""

from datetime import date

import pytest

from tco.case import CaseError, read_case
from tco.case.capacity_log import parse_log, read_log
from tco.checkup.assessment import assess
from tests.screens.helpers import ROOT

CASE, LOG, OLD_LOG = (
    ROOT / "candidates_demo" / name
    for name in ("otterbank.toml", "otterbank_log.csv", "otterbank_old_log.csv")
)
TODAY = date(2025, 10, 1)


@pytest.fixture(scope="module")
def case():
    return read_case(CASE)


def problems(case, text, **changes):
    with pytest.raises(CaseError) as caught:
        assess(parse_log(text), case, **{"today": TODAY, **changes})
    return "\n".join(str(problem) for problem in caught.value.problems)


def test_arguments_win_over_the_log(case):
    found = assess(
        read_log(LOG), case, today=TODAY, candidate="fell 24/100", strings=2,
        bought=date(2024, 5, 1),
    )  # fmt: skip
    assert found.label == "Fell 24/100, 2 strings, 200 Ah rated"
    assert found.judged.fit.bought == date(2024, 5, 1)
    assert assess(read_log(OLD_LOG), case, today=TODAY, needed=0.5).judged.needed_health == 0.5


def test_everything_missing_is_said_at_once(case):
    said = problems(case, "date,ah\n2026-01-01,20\n")
    assert "does not say which battery was tested" in said
    assert "does not say when it was bought" in said
    assert "test 1: is dated 2026-01-01, after today" in said


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "# candidate: Fel 24/230\n# bought: 2024-01-01\ndate,ah\n2025-01-01,20\n",
            "'Fell 24/230'",
        ),
        (
            "# candidate: Fell 24/230\n# bought: 2024-01-01\ndate,ah\n2025-01-01,2300\n",
            "gave 2300 Ah of a rated 230 Ah",
        ),
        (
            "# candidate: Fell 24/230\n# chemistry: agm\n# bought: 2024-01-01\ndate,ah\n"
            "2025-01-01,200\n",
            "says agm, but 'Fell 24/230' is lfp",
        ),
        (
            "# candidate: Fell 24/230\n# warranty: 150\n# bought: 2024-01-01\ndate,ah\n"
            "2025-01-01,200\n",
            "is too long",
        ),
        (
            "# candidate: Fell 24/230\n# warranty health: 100 %\n# bought: 2024-01-01\ndate,ah\n"
            "2025-01-01,200\n",
            "promises a health of 100%",
        ),
    ],
)
def test_refusals(case, text, why):
    assert why in problems(case, text)


def test_log_of_another_battery_gets_no_verdict(case):
    """Sound tests of 230 Ah against a pack of 150 Ah: over 115 %, no verdict but what to check."""
    text = "{}# bought: 2024-04-20\n# rated_ah: 150\ndate,ah,temp\n{}"
    new = "# candidate: Fell 24/230\n"
    rows = "2024-05-01,{0} Ah,25 C\n2025-09-01,{1} Ah,25 C\n"
    for stated in (new, "# old bank: yes\n# chemistry: agm\n"):
        said = problems(case, text.format(stated, rows.format(216, 210)))
        assert "hardly of a battery of 150 Ah" in said, stated
        assert "2 of 2 tests gave 140% to 144%" in said
        assert "Check the rated Ah, the number of strings, and which battery was tested." in said
    one = problems(case, text.format(new, rows.format(155, 210)))
    assert "1 of 2 tests gave 140%" in one
    generous = parse_log(text.format(new, rows.format(165, 162)))  # 110 %
    assert assess(generous, case, today=TODAY).judged.verdict == "kept"


def test_old_bank_by_the_age_in_the_case(case):
    log = parse_log("# old bank: yes\ndate,ah\n2025-01-01,150\n")
    found = assess(log, case, today=TODAY, needed=0.7)
    assert found.judged.fit.bought == date(2018, 10, 1)  # seven years of 365.25 days
    assert "by the age of 7 years" in found.assumed[0]


def test_old_bank_unknown_to_the_case(plain_case):
    said = problems(plain_case(), "# old bank: yes\ndate,ah\n2025-01-01,150\n")
    for what in ("the chemistry", "the rated Ah", "when it was bought"):
        assert f"does not say {what} of the old bank" in said
