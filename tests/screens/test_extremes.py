"""Whatever a case may hold, every screen opens, says something, and nowhere says nan."""

import re

import pytest

from tests.screens.helpers import SCREENS, Opened, changed, held, pack, sentence

DARK = [0.0] * 12
CLIMATE = {
    "site": "pole (invented)",
    "latitude_deg": -89.0,
    "mean_degc": [-40.0] * 12,
    "min_degc": [-60.0] * 12,
    "max_degc": [-20.0] * 12,
    "irradiation_kwh_per_m2_day": DARK,
}
TINY = {**pack("Tiny"), "capacity_ah": 0.5, "mass_kg": 0.2, "price": 0}
HUGE = {
    **pack("Huge"),
    "capacity_ah": 90_000,
    "mass_kg": 19_000,
    "width_mm": 4_900,
    "depth_mm": 4_900,
    "height_mm": 4_900,
    "price": 9e8,
}
NEVER = [{"name": "never", "power_w": 0, "hours_per_day": 0}]
FURNACE = [{"name": "furnace", "power_w": 1e6, "hours_per_day": 24, "surge_w": 2e6}]
CASES = {
    "a dark pole": changed("larch_hut", climate=CLIMATE),
    "packs of nothing and of a power station": changed("otterbank", candidates=[TINY, HUGE]),
    "loads that never run": changed("otterbank", loads=NEVER, candidates=[pack("Only")]),
    "a furnace": changed("otterbank", loads=FURNACE, candidates=[pack("Only"), HUGE]),
    "no source at all": changed("coldharbour", sources={}, candidates=[pack("Only")]),
    "free, for one year": changed(
        "otterbank",
        candidates=[TINY, {**pack("Free"), "price": 0}],
        prices={"discount_rate": 0.0, "inflation": 0.0, "labour_per_hour": 0},
        assumptions={"horizon_years": 1, "autonomy_days": 0},
    ),
}


@pytest.mark.parametrize("screen", SCREENS)
@pytest.mark.parametrize("case", CASES)
def test_every_screen_opens(opened: Opened, screen: str, case: str) -> None:
    app = opened(screen, CASES[case])
    assert not app.exception, [error.message for error in app.exception]
    assert not held(app).failure
    assert sentence(app)
    told = [str(part.value) for kind in (app.markdown, app.caption, app.metric) for part in kind]
    tables = [table.value.to_csv() for table in (*app.table, *app.dataframe)]
    for text in (sentence(app), *told, *tables):
        assert not re.search(r"\bnan\b|\binf\b", text), text[:300]
