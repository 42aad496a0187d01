"""What each hour outside buys: hours against chance, for both truths.

Every layout worth having stands at its hours. The chance that it settles the question lies between two
steps, one for each truth: an hour more buys nothing until it is enough for the next layout. The layout
recommended carries a flag.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from evenglide.plan.results import REACHED, Candidate, Offer
from evenglide.report.lanes import FLAG_RIGHT
from evenglide.report.look import CIRCLE, LIGHT
from evenglide.report.offer_words import hours
from evenglide.report.pen import (
    Ruler,
    Spec,
    curve,
    hairlines,
    numbers_at,
    picture,
    points,
    ribbon,
    uprights,
    words,
)
from evenglide.report.plan_words import if_it_matters, if_none, of_what, percent, truths
from evenglide.show.numbers import NO_BREAK, count, plain, round_ticks, whole
from evenglide.show.table import Table

WIDE, NARROW = 740.0, 342.0
SHOWN_AT_MOST = 10
"""Layouts told one by one; the others stand in the table."""
TABLED_AT_MOST = 120
TOP, FOOT, HEIGHT = 46.0, 262.0, 304.0
BETWEEN_NUMBERS = 15.0
BETWEEN_LABELS = 17.0
BESIDE_STEP = 4.0
MINUTES = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Buys:
    """What one layout buys, as it is drawn.

    Parameters
    ----------
    number : int
    hours : float
    none, matters : float
        Chance to find that nothing matters if there is no difference, and a difference if it is just the one
        that matters. [1]
    chance : float
        Of a clear answer whichever is true. [1]
    """

    number: int
    hours: float
    none: float
    matters: float
    chance: float


def frontier_buys(offer: Offer) -> tuple[Buys, ...]:
    """What every layout worth having buys, by hours."""
    return tuple(
        Buys(
            number=one.number,
            hours=one.minutes / MINUTES,
            none=if_none(offer, one),
            matters=if_it_matters(offer, one),
            chance=one.chance,
        )
        for one in worth_having(offer)
    )


def worth_having(offer: Offer) -> tuple[Candidate, ...]:
    """Layouts that no other one beats; the one recommended is always among them."""
    return offer.frontier or (offer.recommended,)


def shown_layouts(offer: Offer) -> tuple[Candidate, ...]:
    """Layouts told one by one: the one recommended, the best, and others evenly spread over the chances."""
    every = worth_having(offer)
    if len(every) <= SHOWN_AT_MOST:
        return every
    kept = {offer.recommendation.number, offer.recommendation.best, every[0].number}
    low, high = every[0].chance, every[-1].chance
    for place in range(1, SHOWN_AT_MOST - 2):
        wanted = low + (high - low) * place / (SHOWN_AT_MOST - 2)
        kept.add(min(every, key=lambda one: abs(one.chance - wanted)).number)
    return tuple(one for one in every if one.number in kept)


def frontier_finding(offer: Offer) -> str:
    """Tell in one sentence what hours buy."""
    every = worth_having(offer)
    taken, first, last = offer.recommended, every[0], every[-1]
    if len(every) == 1:
        return f"One layout is worth having: {hours(taken.minutes)} buy {percent(taken.chance)}"
    told = [first] if first.number != taken.number else []
    told += [taken]
    told += [last] if last.number != taken.number else []
    pieces = [f"{hours(one.minutes)} buy {percent(one.chance)}" for one in told]
    return ", ".join(pieces)


def frontier_chart(offer: Offer, *, width: float) -> Spec:
    """Draw hours against chance.

    Parameters
    ----------
    offer : Offer
    width : float
        Of the picture. [px]

    Returns
    -------
    dict
        Vega-Lite, without grammar version and configuration.
    """
    buys = frontier_buys(offer)
    wide = width > NARROW
    ruler = Ruler(low=0.0, high=buys[-1].hours * 1.02, left=46.0, right=width - (150.0 if wide else 62.0))
    return picture(
        [
            *_frame(ruler),
            *_steps(buys, ruler),
            *_dots(buys, ruler, taken=offer.recommendation.number),
            *_flag(offer, ruler, width=width),
            *_names(offer, buys[-1], ruler, wide=wide),
        ],
        width=width,
        height=HEIGHT,
    )


def frontier_table(offer: Offer) -> Table:
    """Tabulate every layout worth having."""
    none, matters = truths(offer)
    kept = worth_having(offer)[:TABLED_AT_MOST]
    where = of_what(offer)
    return Table(
        caption=f"Chances of every layout worth having{f', {where}' if where else ''}",
        columns=(
            "layout",
            "outings",
            "rounds",
            "launches each",
            "preparations",
            "outside",
            f"finds none, {none}",
            f"finds it, {matters}",
            "clear answer",
            "all clear at once",
        ),
        rows=tuple(_row(offer, one) for one in kept),
        align=("right",) * 10,
    )


def beaten_words(offer: Offer) -> str:
    """Say how many layouts are not told, and why."""
    others = len(offer.candidates) - len(worth_having(offer))
    if not others:
        return ""
    verb = "takes" if others == 1 else "take"
    return f"{count(others, 'other layout')} {verb} as long or longer for a smaller chance."


def _row(offer: Offer, one: Candidate) -> tuple[str, ...]:
    chances = (if_none(offer, one), if_it_matters(offer, one), one.chance, one.all_clear)
    counts = (one.number, len(one.outings), one.rounds, one.launches, one.preparations)
    return (*map(whole, counts), hours(one.minutes), *map(percent, chances))


# -------------------------------------------------------------------------------------------- drawing


def _depth(chance: float) -> float:
    return FOOT - (FOOT - TOP) * chance


def _frame(ruler: Ruler) -> Iterator[Spec]:
    """Draw level lines at some chances, and hours at the foot."""
    marked = (0.0, 0.5, REACHED, 1.0)
    yield hairlines([_depth(one) for one in marked], left=ruler.left, right=ruler.right)
    yield words(
        [(f"{100 * one:.0f}{NO_BREAK}%", _depth(one)) for one in marked],
        left=ruler.left - 8,
        align="right",
        color=LIGHT["soft"],
    )
    ticks = round_ticks(0.0, ruler.high, about=7 if ruler.right - ruler.left > NARROW else 4)
    yield uprights(ticks, ruler, top=FOOT, foot=FOOT + 5)
    yield numbers_at([(at, FOOT + 17, f"{plain(at)}{NO_BREAK}h") for at in ticks], ruler, align="center")


def _steps(buys: Sequence[Buys], ruler: Ruler) -> Iterator[Spec]:
    """Draw both truths as steps, and fill what lies between them."""
    yield ribbon(
        [(one[0], _depth(max(one[1:])), _depth(min(one[1:]))) for one in _stairs(buys, ruler)],
        ruler,
        fillOpacity=0.6,
    )
    for place, token in ((1, "alike"), (2, "farther")):
        places = [(one[0], _depth(one[place])) for one in _stairs(buys, ruler)]
        yield curve(places, ruler, color=LIGHT[token], strokeWidth=2.25)


def _stairs(buys: Sequence[Buys], ruler: Ruler) -> list[tuple[float, float, float]]:
    """Corners of the steps: hours, and the chance for each truth; before the first layout there is none."""
    stairs: list[tuple[float, float, float]] = []
    for place, one in enumerate(buys):
        if place:
            stairs.append((one.hours, buys[place - 1].none, buys[place - 1].matters))
        stairs.append((one.hours, one.none, one.matters))
    return [*stairs, (ruler.high, buys[-1].none, buys[-1].matters)]


def _dots(buys: Sequence[Buys], ruler: Ruler, *, taken: int) -> Iterator[Spec]:
    """Put a dot at each layout, and its number below its step where there is room."""
    places = [(one.hours, _depth(one.chance)) for one in buys]
    yield points(places, ruler, shape=CIRCLE, size=34, fill=LIGHT["ink"], stroke=LIGHT["paper"])
    numbered = _with_room(buys, ruler, taken=taken)
    beside = BESIDE_STEP * ruler.unit_per_pixel
    for align, shift in (("left", beside), ("center", 0.0)):  # behind the last one stand the curves' names
        told = [one for one in numbered if (one is buys[-1]) == (align == "center")]
        places = [(one.hours + shift, _depth(one.chance) + 15) for one in told]
        labels = [(*place, str(one.number)) for place, one in zip(places, told, strict=True)]
        yield numbers_at(labels, ruler, align=align, color=LIGHT["ink"])


def _with_room(buys: Sequence[Buys], ruler: Ruler, *, taken: int) -> list[Buys]:
    """Layouts whose numbers do not run into each other; the one recommended comes first."""
    kept: list[Buys] = []
    for one in sorted(buys, key=lambda buy: (buy.number != taken, buy.hours)):
        near = [abs(one.hours - other.hours) / ruler.unit_per_pixel for other in kept]
        if all(gap >= BETWEEN_NUMBERS for gap in near):
            kept.append(one)
    return kept


def _flag(offer: Offer, ruler: Ruler, *, width: float) -> Iterator[Spec]:
    """Plant the flag at the hours of the layout recommended, over the whole height."""
    taken = offer.recommended
    at, top = taken.minutes / MINUTES, 14.0
    yield uprights([at], ruler, top=top, foot=_depth(taken.chance), color=LIGHT["farther"], strokeWidth=1.75)
    flag = {"type": "point", "filled": True, "size": 330, "shape": FLAG_RIGHT}
    yield points([(at, top + 8)], ruler, **flag, fill=LIGHT["farther"], stroke=LIGHT["farther"])
    across = ruler.left + ruler.share(at) * (ruler.right - ruler.left)
    told = f"layout {taken.number}: {hours(taken.minutes)}, {percent(taken.chance)}"
    leftwards = across + 22 + 7.0 * len(told) > width
    yield words(
        [(told, 12.0)],
        left=across - 8 if leftwards else across + 22,
        align="right" if leftwards else "left",
        fontSize=14,
        fontWeight=600,
    )


def _names(offer: Offer, last: Buys, ruler: Ruler, *, wide: bool) -> Iterator[Spec]:
    """Name both steps at their right end, apart from each other."""
    none, matters = truths(offer)
    if not wide:
        none, matters = (
            "if none",
            matters.replace("if it is ", "if ").replace("if it just matters", "if just"),
        )
    upper, lower = sorted(
        [(_depth(last.none), none, "alike"), (_depth(last.matters), matters, "farther")],
        key=lambda one: one[0],
    )
    lift = max(0.0, BETWEEN_LABELS - (lower[0] - upper[0])) / 2
    for (depth, text, token), shift in ((upper, -lift), (lower, lift)):
        yield words([(text, depth + shift)], left=ruler.right + 8, color=LIGHT[token], fontWeight=600)
