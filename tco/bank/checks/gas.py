"""Air for a lead-acid bank: what it gives off while charged can explode."""

from collections.abc import Iterable

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charging_together_a
from tco.bank.checks.check import Check, Verdict
from tco.case import Case
from tco.physics.ventilation import airflow_m3_per_h, gassing_current_a, opening_diameter_mm
from tco.sentences import Quantity, mm, says


def check_ventilation(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    """Check the openings of the battery's space against the airflow of EN IEC 62485-2.

    A caution with the figures where a space does not state its openings, a failure where the
    smallest stated one is too small. The reason also tells the air wanted if a charger fails and
    everything it can push goes into gas. Chemistries that give off no gas in use have no check.
    """
    cells = arrangement.pack.chemistry.gassing
    if cells == "none":
        return
    in_series = arrangement.series * arrangement.pack.cells_in_series
    airflow = airflow_m3_per_h(in_series, gassing_current_a(arrangement.capacity_ah, cells))
    failed_a = charging_together_a(case)
    needed = opening_diameter_mm(airflow)
    figures = says(
        f"{cells} cells give off hydrogen while charged, which explodes from 4 % in air: ",
        Quantity(airflow, "m3/h", ".2f"), " of air at boost charge, by two openings to outdoors ",
        "of ", mm(needed), " across, one low and one high (EN IEC 62485-2)",
    )  # fmt: skip
    stated = [space.vent_diameter_mm for space in case.system.spaces]
    known = [diameter for diameter in stated if diameter is not None]
    smallest = min(known) if len(known) == len(stated) else None
    margin = None if smallest is None else smallest - needed
    verdict: Verdict = "caution"
    if margin is None:
        told = "; the openings of the space are not stated"
    elif margin >= 0.0:
        verdict, told = "pass", "; they are there"
    else:
        verdict, told = "fail", "; the space has less"
    failing = says(
        f". Should a charger fail and push all of {failed_a:.0f} A into gas: ",
        Quantity(airflow_m3_per_h(in_series, failed_a), "m3/h", ".1f"),
    )  # fmt: skip
    reason = says(
        figures, told, failing if failed_a > 0.0 else "",
        ". No flame, spark, switch or fuse above or close to the cells, never into a living space; "
        "follow the makers and the local code",
    )  # fmt: skip
    yield Check("ventilation", smallest, needed, "mm", margin, verdict, reason)
