"""Weighing two: one or many, cheap or premium, or any two, with the uncertainty left in."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from tco.case.words import money
from tco.compare import Comparison, Result
from tco.report import charts, weigh_charts, weigh_frames
from tco.report.sentences import literal
from tco.screens import parts, state
from tco.screens.state import Workspace
from tco.weigh.arguments import Argument, cheap_or_premium, one_or_many
from tco.weigh.breakeven import break_evens
from tco.weigh.curves import horizon_curve, two_way, use_curve
from tco.weigh.knobs import Knob, knobs
from tco.weigh.pair import Pair, any_two
from tco.weigh.sensitivity import LEFT_OUT, global_indices, tornado
from tco.weigh.settle import convergence, settled

ONE, CHEAP, ANY = "One large or several small", "Cheap or premium", "Any two"
CLOSER = ("What moves it most", "Weekend user to full-timer", "Years of use", "Two things at once")
FEWEST, MOST = 100, 50_000
MORE = 4


def main() -> None:
    """Draw the screen."""
    held = parts.opening()
    comparison = state.comparison_of(held)
    parts.troubles(held)
    if len(comparison.results) < 2:
        parts.sentence("Nothing to weigh yet: it takes two arrangements.")
        parts.nothing_yet()
        return
    top = st.container()
    which, count, more, until = st.columns([3.2, 1.2, 1, 1.1], vertical_alignment="bottom")
    question = which.segmented_control(
        "What is weighed", (ONE, CHEAP, ANY), default=ONE, key="weighed",
        label_visibility="collapsed",
    ) or ONE  # fmt: skip
    _draws(held, comparison, count, more, until)
    drawn = state.drawn_of(held, comparison)
    weighed = _weighed(held, drawn, question)
    with top:
        parts.sentence(
            weighed.answer if weighed else "Choose two different arrangements to weigh them."
        )
    if weighed is not None and weighed.left and weighed.right and weighed.difference:
        _argument(held, drawn, weighed, weighed.left, weighed.right)
    _bands(drawn, weighed)
    if weighed is not None and weighed.left and weighed.right and weighed.difference:
        _closer(held, drawn, weighed.left, weighed.right)


def _draws(
    held: Workspace,
    comparison: Comparison,
    count: DeltaGenerator,
    more: DeltaGenerator,
    until: DeltaGenerator,
) -> None:
    key = f"{held.version} draws"
    if key not in st.session_state:
        st.session_state[key] = held.draws
    if until.button(
        "Until it settles", width="stretch",
        help="Twice as many again and again, until the standard errors of the best cost and of "
        "its lead are below a hundredth of it. The Stop button above ends it.",
    ):  # fmt: skip
        bar = st.progress(0.0)

        def tell(share: float, what: str) -> None:
            bar.progress(min(max(share, 0.0), 1.0), what)

        found = settled(comparison.case, progress=tell)
        bar.empty()
        st.toast(str(found))
        if found.last is not None:
            st.session_state[key] = found.last.draws

    def multiply() -> None:
        st.session_state[key] = min(MORE * int(st.session_state[key]), MOST)

    more.button(
        "More draws", on_click=multiply, disabled=held.draws >= MOST, width="stretch",
        help="Four times as many: half the standard error",
    )  # fmt: skip
    held.draws = int(
        count.number_input(
            "Draws", min_value=FEWEST, max_value=MOST, step=500, key=key,
            help="Everything uncertain is drawn so many times; more draws, smaller standard error.",
        )
    )  # fmt: skip


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
    picture, table = st.columns([1.25, 1], gap="medium")
    with picture:
        parts.heading("The difference, draw by draw")
        st.altair_chart(
            weigh_charts.difference(
                weigh_frames.histogram(differences, a, b),
                left=a, right=b, band=(band.p10, band.p50, band.p90), currency=sign,
            ),
            theme=None,
        )  # fmt: skip
        st.caption(
            literal(weigh_frames.difference_words(band, differences.size, left, right, sign))
        )
    with table:
        parts.heading("Side by side")
        parts.reading(weigh_frames.side_by_side(weighed.rows, left, right, case.units))
    parts.heading("What would change the answer")
    found = state.remembered(
        held, "break-evens", a, b,
        work=lambda: break_evens(case, left, right),
        saying="Turning one quantity at a time until the costs cross…",
    )  # fmt: skip
    track = weigh_frames.tracks(found, {knob.of: knob for knob in knobs(case, left, right)})
    lanes, said = st.columns([1.25, 1], gap="medium")
    lanes.altair_chart(
        weigh_charts.tracks(track, weigh_frames.stretches(found, a, b), left=a, right=b), theme=None
    )
    lanes.caption("Dot: today's value. Mark: where the costs cross. At central values.")
    with said:
        for row in found:
            st.caption(literal(f"{row.sentence[0].upper()}{row.sentence[1:]}"))


def _bands(drawn: Comparison, weighed: Argument | Pair | None) -> None:
    sides = (weighed.left, weighed.right) if weighed is not None else ()
    marked = [side.arrangement.label for side in sides if side is not None]
    frame = weigh_frames.bands(drawn, marked)
    if frame.empty:
        st.caption("No arrangement passes every requirement, so none can be the cheapest choice.")
        return
    parts.heading("All that pass: the band of their cost, and the chance of being cheapest")
    st.altair_chart(weigh_charts.bands(frame, currency=drawn.case.prices.currency), theme=None)
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


def _closer(held: Workspace, drawn: Comparison, left: Result, right: Result) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    parts.heading("A closer look")
    view = st.segmented_control(
        "A closer look", CLOSER, default=CLOSER[0], key="closer", label_visibility="collapsed"
    )
    turned = {knob.of: knob for knob in knobs(drawn.case, left, right)}
    sign = drawn.case.prices.currency
    if view == CLOSER[0]:
        _moving(held, drawn, left, right)
    elif view == CLOSER[1]:
        points = state.remembered(
            held, "use", a, b,
            work=lambda: use_curve(drawn, [left, right], turned["energy used"]),
            saying="From a weekend user to a full-timer…",
        )  # fmt: skip
        st.altair_chart(
            weigh_charts.curve(
                weigh_frames.curve(points), x="kwh_per_year",
                x_title="energy used [kWh a year]", y="cost_per_kwh",
                y_title=f"cost of a kWh [{sign}]", left=a, right=b,
            ),
            theme=None,
        )  # fmt: skip
        st.caption("All loads run for more or less of the day, the peak left as it is.")
    elif view == CLOSER[2]:
        points = state.remembered(
            held, "years", a, b,
            work=lambda: horizon_curve(drawn, [left, right], turned["years of use"]),
            saying="From one year to many…",
        )  # fmt: skip
        st.altair_chart(
            weigh_charts.curve(
                weigh_frames.curve(points), x="x", x_title="years of use", y="annual_cost",
                y_title=f"cost a year [{sign}]", left=a, right=b, y_format=",.0f",
            ),
            theme=None,
        )  # fmt: skip
    elif view == CLOSER[3]:
        _map(held, drawn, left, right, turned)


def _moving(held: Workspace, drawn: Comparison, left: Result, right: Result) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    sign = drawn.case.prices.currency
    swings = state.remembered(held, "tornado", a, b, work=lambda: tornado(drawn, [left, right]))
    shares = state.remembered(
        held, "indices", a, b, work=lambda: global_indices(drawn, left, right)
    )
    places = st.columns(2, gap="medium")
    for place, side, swing, colour in zip(
        places, (left, right), swings, (charts.BLUE, charts.ORANGE), strict=True
    ):
        with place:
            parts.heading(f"Cost of {side.arrangement.label}, one quantity at a time")
            st.altair_chart(
                weigh_charts.tornado(
                    weigh_frames.swings(swing, side.measures.total_cost),
                    currency=sign,
                    colour=colour,
                ),
                theme=None,
            )
    parts.heading("What the difference between the two comes from, all turned together")
    st.altair_chart(weigh_charts.indices(weigh_frames.indices(shares)), theme=None)
    st.caption(
        "The bars run from the 10 % to the 90 % point of each spread; the spreads are under Prices "
        f"and assumptions. They leave out what merely happens: {LEFT_OUT}. The shares below them "
        "count that too; they come from samples and may miss by several per cent."
    )


def _map(
    held: Workspace, drawn: Comparison, left: Result, right: Result, turned: dict[str, Knob]
) -> None:
    a, b = left.arrangement.label, right.arrangement.label
    names = list(turned)
    across, up, go = st.columns([2, 2, 1], vertical_alignment="bottom")
    x = across.selectbox("Across", names, index=0)
    y = up.selectbox("Up", names, index=min(3, len(names) - 1))
    if x == y:
        st.info("Choose two different quantities.")
        return
    asked = f"{held.version} map"
    if go.button("Draw the map", type="primary", width="stretch"):
        st.session_state[asked] = (a, b, x, y)
    if st.session_state.get(asked) != (a, b, x, y):
        st.caption("The map takes some 50 comparisons, so it is drawn when you ask for it.")
        return
    found = state.remembered(
        held, "map", a, b, x, y,
        work=lambda: two_way(drawn.case, left, right, turned[x], turned[y]),
        saying="Turning both together…",
    )  # fmt: skip
    st.altair_chart(
        weigh_charts.two_way(
            weigh_frames.map_cells(found, a, b),
            x=x, y=y, left=a, right=b, currency=drawn.case.prices.currency,
        ),
        theme=None,
    )  # fmt: skip
    st.caption(
        literal(
            "Today: "
            + "; ".join(f"{name} {turned[name].words(turned[name].now)}" for name in (x, y))
            + ". At central values, without draws."
        )
    )


main()
