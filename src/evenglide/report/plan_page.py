"""The offer as one page: what to do first, what each hour outside buys, and what it rests on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from markupsafe import Markup

from evenglide.plan.results import REACHED, ComparisonChances, Offer
from evenglide.report.drawing import to_svg
from evenglide.report.headline import first_upper
from evenglide.report.offer_words import (
    assumed_words,
    chance_words,
    hours,
    measured_words,
    scatter_words,
    wish_words,
)
from evenglide.report.page import page_html, template
from evenglide.report.pen import Spec
from evenglide.report.plan_frontier import (
    NARROW,
    WIDE,
    beaten_words,
    frontier_chart,
    frontier_finding,
    frontier_table,
    shown_layouts,
)
from evenglide.report.plan_timeline import (
    more_words,
    timeline_chart,
    timeline_finding,
    timeline_key,
    timeline_table,
)
from evenglide.report.plan_truths import truths_chart, truths_finding, truths_of, truths_table
from evenglide.report.plan_words import (
    Outlook,
    comparison_name,
    headline_words,
    if_it_matters,
    if_none,
    of_what,
    outing_day,
    outlook,
    percent,
    takes_words,
    title_words,
    truths,
    warning_words,
)
from evenglide.show.numbers import count, listed
from evenglide.show.table import Table, html_table

STYLES = ("report.css", "plan.css")
MOST_WISHES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A picture for wide and for narrow paper, its finding and its table."""

    finding: str
    wide: Markup
    narrow: Markup
    table: Markup


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """One comparison of the layout recommended: its name, what is likely, its chances for both truths."""

    name: str
    outlook: Outlook
    none: float
    matters: float
    numbers: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A plan that one could do, or what is left of one, with its chance."""

    name: str
    told: str
    chance: float
    number: str
    marked: bool


def plan_page_html(offer: Offer) -> str:
    """Write an offer as one HTML file.

    Parameters
    ----------
    offer : Offer

    Returns
    -------
    str
        The whole file; write it as UTF-8.
    """
    none, matters = truths(offer)
    title = f"Plan: {offer.title}"
    body = template("plan.html.j2").render(
        title=offer.title,
        go=title_words(offer),
        headline=headline_words(offer),
        warning=warning_words(offer),
        takes=list(takes_words(offer)),
        expected=[_expected(offer, one) for one in offer.recommended.comparisons],
        if_nothing=none,
        if_just=matters,
        frontier=_both(
            "frontier", frontier_chart, offer, finding=frontier_finding(offer), table=frontier_table(offer)
        ),
        where=of_what(offer),
        beaten=beaten_words(offer),
        layouts=list(_layouts(offer)),
        truths=[
            (one.title, truths_finding(one), _picture(f"truths-{at}", one.title, truths_chart(one)))
            for at, one in enumerate(truths_of(offer))
        ],
        truths_tables=[Markup(html_table(truths_table(one))) for one in truths_of(offer)],
        timeline=_both(
            "timeline", timeline_chart, offer, finding=timeline_finding(offer), table=timeline_table(offer)
        ),
        timeline_key=timeline_key(offer),
        more_outings=more_words(offer),
        dropped=list(_dropped(offer)),
        whole=percent(offer.recommended.chance),
        reached=percent(REACHED),
        wishes=wish_words(offer, most=MOST_WISHES) if offer.wishes else "",
        scatter=scatter_words(offer),
        measured=measured_words(offer) if offer.measured_in else "",
        assumed=first_upper(assumed_words(offer)) if offer.assumed else "",
        orders=Markup(html_table(_orders(offer))),
        number=offer.recommendation.number,
    )
    return page_html(body, title=title, styles=STYLES)


def _expected(offer: Offer, one: ComparisonChances) -> Expected:
    curve = next(
        curve for curve in offer.curves if (curve.surface, curve.treatment) == (one.surface, one.treatment)
    )
    return Expected(
        name=comparison_name(offer, one.surface, one.treatment),
        outlook=outlook(offer, one, curve),
        none=one.alike_if_none,
        matters=one.differs_if_margin,
        numbers=(percent(one.alike_if_none), percent(one.differs_if_margin)),
    )


def _layouts(offer: Offer) -> Iterator[Bar]:
    for one in shown_layouts(offer):
        yield Bar(
            name=f"{one.number}",
            told=f"{hours(one.minutes)}: {count(one.rounds, 'round')} on "
            f"{count(len(one.outings), 'outing')}, {count(one.launches, 'launch', 'launches')} of each",
            chance=one.chance,
            number=f"{percent(if_none(offer, one))} · {percent(if_it_matters(offer, one))}",
            marked=one.number == offer.recommendation.number,
        )


def _dropped(offer: Offer) -> Iterator[Bar]:
    for one in offer.dropped:
        lost = f"; nothing left on {listed(one.surfaces_lost)}" if one.surfaces_lost else ""
        yield Bar(
            name=f"Without {outing_day(offer, one.outing)}",
            told=f"{count(one.rounds, 'round')} left{lost}",
            chance=one.chance,
            number=chance_words(one.chance, bare=True),
            marked=False,
        )


def _orders(offer: Offer) -> Table:
    """What the test by the order of treatments could show at best."""
    rows = [
        (
            comparison_name(offer, one.surface, one.treatment),
            str(one.rounds),
            str(one.df),
            f"{one.smallest_p:.2g}",
            f"{one.needed:.2g}",
            "yes" if one.can_reject else "no",
        )
        for one in offer.recommended.comparisons
    ]
    return Table(
        caption="What the test by the order could show at best, with the layout recommended",
        columns=("on", "rounds", "df", "least p", "needed", "can show a difference"),
        rows=tuple(rows),
        align=("left", "right", "right", "right", "right", "right"),
    )


def _both(identity: str, chart: Callable[..., Spec], offer: Offer, *, finding: str, table: Table) -> Drawn:
    wide, narrow = (
        _picture(f"{identity}-{name}", finding, chart(offer, width=width))
        for name, width in (("wide", WIDE), ("narrow", NARROW))
    )
    return Drawn(finding=finding, wide=wide, narrow=narrow, table=Markup(html_table(table)))


def _picture(identity: str, title: str, spec: Spec) -> Markup:
    description = "Its numbers stand in the table below it."
    return Markup(to_svg(spec, identity=identity, title=title, description=description))
