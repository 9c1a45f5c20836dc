"""The answer: which arrangement to buy, how the others compare, and everything behind one."""

import pandas as pd
import streamlit as st

from tco.bank.cautions import cautions
from tco.bank.wiring.wiring import CAUTION as WIRING_CAUTION
from tco.case.words import money
from tco.compare import Comparison
from tco.forms.entry import Units
from tco.report import frames
from tco.report.answer import frames as answer_frames
from tco.report.answer.untried import untried
from tco.report.answer.words import CAUTION, answer
from tco.report.money import charts as money_charts
from tco.report.money import frames as money_frames
from tco.report.money import words as money_words
from tco.report.words import literal
from tco.report.years import charts
from tco.report.years import frames as year_frames
from tco.result import Result
from tco.screens import bar, parts, state

VIEW = "view"
VIEWS = ("Costs compared", "Requirements", "Ledger", "Wiring", "The years")
BEST_TEN = 10
ROWS_SHOWN = 7


def main() -> None:
    """Draw the screen."""
    held = bar.top("answer")
    comparison = state.with_draws_made(held, state.comparison_of(held))
    parts.troubles(held)
    parts.sentence(frames.words(answer(comparison), held.case.units))
    if not comparison.results:
        parts.nothing_yet()
        return
    best = comparison.best
    if best is not None:
        _figures(comparison, best)
    _ranking(comparison)
    if beyond := untried(comparison):
        st.caption(literal(beyond))
    _behind(held, comparison)
    st.divider()
    st.caption(literal(frames.words(CAUTION, held.case.units)))


def _figures(comparison: Comparison, best: Result) -> None:
    figures = answer_frames.key_figures(comparison, best)
    for place, figure in zip(st.columns(len(figures)), figures, strict=True):
        with place.container(border=True):
            st.metric(literal(figure.label), literal(figure.value))
            st.caption(literal(figure.note))


def _ranking(comparison: Comparison) -> None:
    frame = answer_frames.ranked(comparison)
    feasible = [result.feasible for result in comparison.results]

    def greyed(row: pd.Series) -> list[str]:
        grey = "" if feasible[int(row.name)] else "color: #8A8F8C"  # type: ignore[call-overload]
        return [grey] * len(row)

    key = f"ranking {state.workspace().version}"
    labels = [result.arrangement.label for result in comparison.results]

    def follow() -> None:
        rows = st.session_state[key]["selection"]["rows"]
        if rows and rows[0] < len(labels):
            st.session_state[parts.SHOWN] = labels[rows[0]]
            if st.session_state.get(VIEW) in (None, VIEWS[0]):
                st.session_state[VIEW] = VIEWS[1]

    parts.heading("All arrangements, cheapest of those that meet every requirement first")
    st.dataframe(
        frame.style.format(answer_frames.ranked_formats(list(frame.columns)), na_rep="–").apply(
            greyed, axis=1
        ),
        key=key,
        hide_index=True,
        height=38 + 35 * min(len(frame), ROWS_SHOWN),
        on_select=follow,
        selection_mode="single-row",
        column_config={
            "#": st.column_config.NumberColumn(width=36),
            "": st.column_config.TextColumn(width=28, help="✓ passes, ? not stated, ✗ fails"),
            "Arrangement": st.column_config.TextColumn(width=200),
            "Fails on, or not stated": st.column_config.TextColumn(width=250),
            "Cheapest [%]": st.column_config.NumberColumn(
                help="Share of the draws, made under Weighing two, in which it costs least"
            ),
            "Serves [years]": st.column_config.NumberColumn(help="40 means 40 or more"),
        },
    )


def _behind(held: state.Workspace, comparison: Comparison) -> None:
    if st.session_state.get(VIEW) is None:
        st.session_state[VIEW] = VIEWS[0]
    what, which = st.columns([2, 1], vertical_alignment="bottom")
    view = what.segmented_control("View", VIEWS, key=VIEW, label_visibility="collapsed")
    result = parts.arrangement(held, comparison, place=which)
    if view == "Requirements":
        _checks(result, comparison.case.units)
    elif view == "Ledger":
        _ledger(comparison, result)
    elif view == "Wiring":
        _wiring(comparison, result)
    elif view == "The years":
        _years(comparison, result)
    else:
        _bars(comparison)


def _bars(comparison: Comparison) -> None:
    passing = [result for result in comparison.results if result.feasible]
    shown = (passing or list(comparison.results))[:BEST_TEN]
    st.caption(
        f"{'The best' if passing else 'The nearest'} {len(shown)}, in present value: what all "
        "the years cost, discounted to the day of purchase. The black mark is the total; what is "
        "sold, credited or left over stands left of nought."
    )
    parts.chart(
        money_charts.cost_bars(
            money_frames.cost_groups(shown), currency=comparison.case.prices.currency
        ),
    )


def _checks(result: Result, units: Units) -> None:
    failed = [check.requirement for check in result.screening.failures()]
    st.markdown(
        literal(
            f"Fails on {', '.join(failed)}." if failed else "Nothing rules this arrangement out."
        )
    )
    parts.reading(frames.checks(result, units=units))


def _ledger(comparison: Comparison, result: Result) -> None:
    case = comparison.case
    sign, rows = case.prices.currency, money_frames.ledger_rows(result, case.units)
    parts.chart(
        money_charts.ledger_bars(rows, currency=sign, horizon_years=case.assumptions.horizon_years),
    )
    said = (*money_words.conventions(case), money_words.annual_words(result.measures, case.prices))
    st.caption(literal(" ".join(said)))
    by_item, one_by_one = st.container(key="ledger").columns([1.2, 1.35], gap="medium")
    items = money_frames.ledger_items(rows, sign)
    amounts = {
        name: st.column_config.NumberColumn(width=116) for name in money_frames.headings(sign)
    }
    with by_item:
        parts.heading("By item: choose one to open it")
        chosen = st.dataframe(
            items.style.format("{:,.0f}", subset=list(items.columns[2:])),
            key=f"items {result.arrangement.label}",
            hide_index=True,
            height=38 + 35 * len(items),
            on_select="rerun",
            selection_mode="single-row",
            column_config={
                "Item": st.column_config.TextColumn(width=140),
                "Rows": st.column_config.NumberColumn(width=46),
                **amounts,
            },
        )
    with one_by_one:
        picked = chosen["selection"]["rows"]
        name = items["Item"].iloc[picked[0]] if picked and picked[0] < len(items) else None
        parts.heading(f"Dated rows: {name or 'all'}")
        shown = rows if name is None else rows[rows["item"] == name]
        if name is not None:
            over = money_words.reason_over_the_years(money_words.by_item(result.ledger)[name])
            st.caption(literal(frames.words(over, case.units)))
        dated = money_frames.dated(shown, sign)
        st.dataframe(
            dated.style.format(
                {"Year": "{:.1f}", **dict.fromkeys(money_frames.headings(sign), "{:,.2f}")}
            ),
            hide_index=True,
            height=38 + 35 * min(len(items), len(dated)),
            column_order=None if name is None else [c for c in dated.columns if c != "Item"],
            column_config={
                "Year": st.column_config.NumberColumn(width=50),
                "Item": st.column_config.TextColumn(width=140),
                **amounts,
                "Why": st.column_config.TextColumn(width=560),
            },
        )


def _wiring(comparison: Comparison, result: Result) -> None:
    sign, wiring = comparison.case.prices.currency, result.wiring
    if wiring is None:
        told = result.screening.check("wiring").reason
        st.markdown(literal(f"This arrangement cannot be wired: {told}."))
        return
    parts.dangers(WIRING_CAUTION, cautions(comparison.case, result.arrangement))
    st.markdown(
        literal(
            f"{wiring.connections} connections. Main fuse {wiring.main_fuse.fuse_class.name} "
            f"{wiring.main_fuse.rating_a:g} A; a dead short could draw "
            f"{wiring.short_circuit_a:,.0f} A "
            f"({frames.words(wiring.circuit.source.words, comparison.case.units)})."
        )
    )
    parts.heading(f"What has to be bought or done: {money(wiring.cost, sign)}")
    parts.table(money_frames.bill(result, sign, comparison.case.units), money_digits=2)
    st.caption("Drawings, shopping list, old parts and current sharing: under *Space and wiring*.")


def _years(comparison: Comparison, result: Result) -> None:
    year = year_frames.charge_year(comparison.trace(result).charge)
    left, right = st.columns(2, gap="medium")
    with left:
        parts.heading("Capacity over the years")
        parts.chart(
            charts.health_lines(
                year_frames.health(result),
                end_of_life_health=comparison.worn_health(result),
                replaced=[replacement.year for replacement in result.life.replacements],
            ),
        )
        count = len(result.life.replacements)
        when = ", ".join(f"{r.year:.1f}" for r in result.life.replacements)
        st.caption(f"Replaced at year {when}." if count else "Not replaced within these years.")
    with right:
        parts.heading("Charge through the weather year, new bank")
        parts.chart(charts.charge_band(year))
        st.caption(literal(year.words))


main()
