"""Weighing two: one or many, cheap or premium, or any two, with the uncertainty left in."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from tco.case.words import money
from tco.compare import Comparison
from tco.report import dressing
from tco.report.weighing import charts as weigh_charts
from tco.report.weighing import frames as weigh_frames
from tco.report.words import literal
from tco.result import Result
from tco.screens import bar, draw_rounds, parts, state
from tco.screens.state import Workspace
from tco.weighing.arguments import Argument, cheap_or_premium, one_or_many
from tco.weighing.breakeven import BreakEven, ranked
from tco.weighing.convergence import convergence
from tco.weighing.curves import horizon_curve, telling_pair, two_way, use_curve
from tco.weighing.days_present import days_present_driver
from tco.weighing.drivers import Driver, years_of_use
from tco.weighing.pair import Pair, any_two
from tco.weighing.sensitivity import LEFT_OUT, global_indices, tornado

ONE, CHEAP, ANY = "One large or several small", "Cheap or premium", "Any two"
CLOSER = ("All that pass", "What moves it most", "Two things at once",
          "Weekend user to full-timer", "Years of use")  # fmt: skip
FEWEST, MOST = 100, 50_000
MORE = 4
MOST_SENTENCES = 3  # told in words beside the picture; the others are a click away


def main() -> None:
    """Draw the screen."""
    held = bar.top("weigh")
    comparison = state.comparison_of(held)
    parts.troubles(held)
    if len(comparison.results) < 2:
        parts.sentence("Nothing to weigh yet: it takes two arrangements.")
        parts.nothing_yet()
        return
    top = st.container()
    controls = st.container(
        horizontal=True, horizontal_alignment="distribute", vertical_alignment="center", gap="small"
    )
    question = controls.segmented_control(
        "What is weighed", (ONE, CHEAP, ANY), default=ONE, key="weighed",
        label_visibility="collapsed", width="content",
    ) or ONE  # fmt: skip
    _draws(held, controls)
    rounds = st.container()
    drawn = state.drawn_of(held, comparison)
    weighed = _weighed(held, drawn, question)
    with top:
        parts.sentence(
            weighed.opening if weighed else "Choose two different arrangements to weigh them."
        )
        if weighed is not None and weighed.note:
            st.caption(literal(weighed.note))
    if weighed is not None and weighed.left and weighed.right and weighed.difference:
        _argument(held, drawn, weighed, weighed.left, weighed.right)
    _closer(held, drawn, weighed)
    _rounds(held, drawn, rounds)


def _draws(held: Workspace, place: DeltaGenerator) -> None:
    """How many draws: typed, four times as many, or raised until they settle."""
    key = f"{held.version} draws"
    now = draw_rounds.rounds_of(held)
    raising = now is not None and now.running
    if now is not None and now.fresh:
        st.session_state[key], now.fresh = held.draws, False
    if key not in st.session_state:
        st.session_state[key] = held.draws

    def multiply() -> None:
        draw_rounds.forget()
        st.session_state[key] = min(MORE * int(st.session_state[key]), MOST)

    # a row of its own, so that on a narrow screen all of it goes to the next line
    place = place.container(
        horizontal=True, horizontal_alignment="right", vertical_alignment="center", gap="small",
        width=520,
    )  # fmt: skip
    place.markdown("Draws", width="content")
    held.draws = int(
        place.number_input(
            "Draws", min_value=FEWEST, max_value=MOST, step=500, key=key, width=150,
            label_visibility="collapsed", disabled=raising, on_change=draw_rounds.forget,
        )
    )  # fmt: skip
    place.button(
        "More draws", on_click=multiply, disabled=raising or held.draws >= MOST,
        help="Everything uncertain is drawn so many times. Four times as many draws: half the "
        "standard error",
    )  # fmt: skip
    # one button of one key, so that the browser changes it where it stands
    if now is not None and raising:
        place.button(
            "Stop", on_click=draw_rounds.stop, args=(now,), type="primary", key="settle", width=150,
            help="Ends it at once; what the last whole round knew is kept.",
        )  # fmt: skip
    else:
        place.button(
            "Until it settles", on_click=_begin, args=(held,), key="settle", width=150,
            help="Twice as many again and again, until the standard errors of the least cost and "
            "of its lead are below a hundredth of it. You can stop it at any time.",
        )  # fmt: skip


def _begin(held: Workspace) -> None:
    _, drawn = held.drawn
    if drawn is not None:
        draw_rounds.begin(held, drawn)


def _rounds(held: Workspace, drawn: Comparison, place: DeltaGenerator) -> None:
    """What every round knew, and the next one, once all else is on screen."""
    now = draw_rounds.rounds_of(held)
    if now is None:
        return
    place.caption(
        literal(
            weigh_frames.settling_words(
                now.steps, running=now.running, sign=drawn.case.prices.currency
            )
        )
    )
    if not now.running:
        return
    bar = place.progress(0.0, "the next round")

    def tell(share: float, what: str) -> None:
        bar.progress(min(max(share, 0.0), 1.0), what)

    draw_rounds.next_round(held, now, drawn, tell=tell)
    st.rerun()


def _weighed(held: Workspace, drawn: Comparison, question: str) -> Argument | Pair | None:
    if question == ONE:
        return one_or_many(drawn, with_break_even=False)
    if question == CHEAP:
        return cheap_or_premium(drawn, with_break_even=False)
    names = [result.arrangement.label for result in drawn.results]
    first, second = st.columns(2)
    chosen = []
    for place, label, number in ((first, "Left", 0), (second, "Right", 1)):
        key = f"{held.version} {label}"
        if st.session_state.get(key) not in names:
            known = held.pair[number]
            st.session_state[key] = known if known in names else names[number]
        chosen.append(place.selectbox(label, names, key=key))
    held.pair = (chosen[0], chosen[1])
    if chosen[0] == chosen[1]:
        return None
    return any_two(drawn, drawn.result(chosen[0]), drawn.result(chosen[1]))


def _argument(
    held: Workspace, drawn: Comparison, weighed: Argument | Pair, left: Result, right: Result
) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    case, sign = drawn.case, drawn.case.prices.currency
    band, differences = weighed.difference, weighed.differences
    assert band is not None
    assert differences is not None
    found = state.remembered(
        held, "break-evens", a, b,
        work=lambda: ranked(case, left, right),
        saying="Turning one quantity at a time until the costs cross…",
    )  # fmt: skip
    rows = [row for _, row in found]
    track = weigh_frames.tracks(rows, {driver.of: driver for driver, _ in found})
    picture, table = st.container(key="argument").columns([1.2, 1], gap="medium")
    with picture:
        parts.heading("The difference, draw by draw")
        parts.chart(
            weigh_charts.difference(
                weigh_frames.histogram(differences, a, b),
                left=a, right=b, band=(band.p10, band.p50, band.p90), currency=sign,
            ),
        )  # fmt: skip
        st.caption(
            literal(weigh_frames.difference_words(band, differences.size, left, right, sign))
        )
        parts.heading("What would change the answer")
        parts.chart(
            weigh_charts.tracks(
                track, weigh_frames.stretches(rows, a, b), left=a, right=b
            ),
        )  # fmt: skip
    with table:
        parts.heading("Side by side")
        parts.reading(weigh_frames.side_by_side(weighed.rows, left, right, case.units))
        _turns(rows)


def _turns(rows: list[BreakEven]) -> None:
    """The break-evens in words: the nearest few, the others a click away."""
    told = [row for row in rows if row.at is not None][:MOST_SENTENCES]
    st.caption("Dot: today's value. Mark: where the other one becomes cheaper. Without draws.")
    for row in told:
        st.caption(literal(weigh_frames.opened(row.sentence)))
    rest = [row for row in rows if row not in told]
    if rest:
        with st.popover("All of them in words" if told else "None turns it: in words"):
            for row in rows:
                st.caption(literal(weigh_frames.opened(row.sentence)))


def _bands(drawn: Comparison, weighed: Argument | Pair | None) -> None:
    sides = (weighed.left, weighed.right) if weighed is not None else ()
    marked = [side.arrangement.label for side in sides if side is not None]
    frame = weigh_frames.bands(drawn, marked)
    if frame.empty:
        st.caption("No arrangement passes every requirement, so none can be the cheapest choice.")
        return
    parts.chart(weigh_charts.bands(frame, currency=drawn.case.prices.currency))
    known, sign = convergence(drawn), drawn.case.prices.currency
    if known is not None:
        st.markdown(
            literal(
                f"Least on average is {known.best}: {money(known.mean, sign)} ± "
                f"{money(known.mean_error, sign)}, ahead of the next to within ± "
                f"{money(known.difference_error, sign)} (standard errors of {known.draws:,} draws)."
            )
        )
    st.caption(
        "Blue: the two weighed above. Rest the pointer on one for its expected regret, which is "
        "what choosing it costs more, on average, than knowing beforehand."
    )


def _closer(held: Workspace, drawn: Comparison, weighed: Argument | Pair | None) -> None:
    parts.heading("A closer look")
    view = st.segmented_control(
        "A closer look", CLOSER, default=CLOSER[0], key="closer", label_visibility="collapsed"
    )
    both = weighed is not None and weighed.left is not None and weighed.right is not None
    if view == CLOSER[0] or not both:
        _bands(drawn, weighed)
        return
    assert weighed is not None
    left, right = weighed.left, weighed.right
    assert left is not None
    assert right is not None
    if view == CLOSER[1]:
        _moving(held, drawn, left, right)
    elif view == CLOSER[2]:
        _map(held, drawn, left, right)
    elif view == CLOSER[3]:
        _use(held, drawn, left, right)
    elif view == CLOSER[4]:
        _horizon(held, drawn, left, right)


def _use(held: Workspace, drawn: Comparison, left: Result, right: Result) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    points = state.remembered(
        held, "use", a, b,
        work=lambda: use_curve(drawn, [left, right]),
        saying="From a weekend user to a full-timer…",
    )  # fmt: skip
    parts.chart(
        weigh_charts.curve(
            weigh_frames.curve(points, days_present_driver(drawn.case).words), x="kwh_per_year",
            x_title="energy out of the bank [kWh a year]", y="cost_per_kwh",
            y_title=f"cost of each of these kWh [{drawn.case.prices.currency}]", left=a, right=b,
            turned="Somebody there", ends=("weekend user", "full-timer"),
        ),
    )  # fmt: skip
    st.caption(
        "From some 30 days a year with somebody there to all 365, each simulated. First the months "
        "in use fill up, then the season grows longer, lived in as its nearest month is. Energy "
        "that goes straight from a charger to a load is in neither axis. Hollow: more hours "
        "without power than you tolerate, so the bank or its charging is too small."
    )


def _horizon(held: Workspace, drawn: Comparison, left: Result, right: Result) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    points = state.remembered(
        held, "years", a, b,
        work=lambda: horizon_curve(drawn, [left, right]),
        saying="From one year to many…",
    )  # fmt: skip
    parts.chart(
        weigh_charts.curve(
            weigh_frames.curve(points, years_of_use(drawn.case).words), x="x",
            x_title="years of use", y="annual_cost",
            y_title=f"cost a year [{drawn.case.prices.currency}]", left=a, right=b,
            turned="Used for", y_format=",.0f",
        ),
    )  # fmt: skip
    st.caption(
        "The equal amount a year that is worth the same as all costs together, were it used for "
        "fewer or more years than the case says (ringed)."
    )


def _moving(held: Workspace, drawn: Comparison, left: Result, right: Result) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    sign = drawn.case.prices.currency
    swings = state.remembered(held, "tornado", a, b, work=lambda: tornado(drawn, [left, right]))
    shares = state.remembered(
        held, "indices", a, b, work=lambda: global_indices(drawn, left, right)
    )
    places = st.columns(2, gap="medium")
    for place, side, swing, colour in zip(
        places, (left, right), swings, (dressing.BLUE, dressing.ORANGE), strict=True
    ):
        with place:
            parts.heading(f"Cost of {side.arrangement.label}, one quantity at a time")
            parts.chart(
                weigh_charts.tornado(
                    weigh_frames.swings(swing, side.measures.total_cost),
                    currency=sign,
                    colour=colour,
                ),
            )
    parts.heading("What the difference between the two comes from, all turned together")
    parts.chart(weigh_charts.indices(weigh_frames.indices(shares)))
    st.caption(
        "The bars run from the 10 % to the 90 % point of each spread; the spreads are under Prices "
        f"and assumptions. They leave out what merely happens: {LEFT_OUT}. The shares below them "
        "count that too; they come from samples and may miss by several per cent."
    )


def _map(held: Workspace, drawn: Comparison, left: Result, right: Result) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    found = state.remembered(
        held, "break-evens", a, b, work=lambda: ranked(drawn.case, left, right)
    )
    known = {driver.of: driver for driver, _ in found}
    first, second = state.remembered(
        held, "telling pair", a, b,
        work=lambda: telling_pair(drawn.case, left, right, found=found),
        saying="Looking for the two that matter most…",
    )  # fmt: skip
    across, up = st.columns(2)
    x = _chosen(across, "Across", known, first, f"{held.version} {a} {b}")
    y = _chosen(up, "Up", known, second, f"{held.version} {a} {b}")
    if x is y:
        st.info("Choose two different quantities.")
        return
    cells = state.remembered(
        held, "map", a, b, x.of, y.of,
        work=lambda: two_way(drawn.case, left, right, x, y),
        saying="Turning both together…",
    )  # fmt: skip
    parts.chart(
        weigh_charts.two_way(
            weigh_frames.map_cells(cells, a, b),
            x=x.of, y=y.of, left=a, right=b, currency=drawn.case.prices.currency,
        ),
    )  # fmt: skip
    st.caption(
        literal(
            "Framed: today ("
            + "; ".join(f"{driver.of}: {driver.words(driver.now)}" for driver in (x, y))
            + "). The map opens on the two quantities that matter most; choose any others above. "
            "Without draws."
        )
    )


def _chosen(
    place: DeltaGenerator, label: str, known: dict[str, Driver], usual: Driver, prefix: str
) -> Driver:
    names = list(known)
    of = place.selectbox(label, names, index=names.index(usual.of), key=f"{prefix} {label}")
    return known[of]


main()
