"""What each hour outside buys, told for a terminal: the layout to take first, then what it rests on."""

from __future__ import annotations

import shlex
import textwrap
from collections.abc import Iterator, Sequence

from evenglide.plan.results import REACHED, Candidate, Offer
from evenglide.report.offer_words import (
    assumed_words,
    chance_words,
    dropped_words,
    hours,
    margin_words,
    measured_words,
    outing_name,
    scatter_words,
    wish_words,
)
from evenglide.show.numbers import count, fixed, listed, percent_change, with_unit
from evenglide.show.table import Table, text_block, text_table

WIDTH = 72
"""Characters in a line: what a phone held sideways shows."""
STEP = 0.07
"""Layouts are listed if they give so much more than the one above."""
LIKELY_OPEN = 0.5
MOST_WISHES = 4


def offer_text(offer: Offer, *, folder: str, width: int = WIDTH) -> str:
    """Tell an offer.

    Parameters
    ----------
    offer : Offer
    folder : str
        As somebody typed it, for the next command.
    width : int, optional
        Characters in a line.

    Returns
    -------
    str
        Without a line break at the end.
    """
    taken = offer.recommended
    head = textwrap.fill(f"{offer.title}", width)
    paragraphs = [
        head,
        textwrap.fill(" ".join(_recommendation(offer)), width),
        text_table(_layouts(offer)),
        text_table(_comparisons(offer, taken)),
        text_block(list(_rows(offer)), width=width),
        f"Take it: evenglide plan {shlex.quote(folder)} --choose {taken.number}",
    ]
    return "\n\n".join(paragraphs)


def _recommendation(offer: Offer) -> Iterator[str]:
    taken = offer.recommended
    yield (
        f"Take layout {taken.number}: {count(taken.rounds, 'round')} on "
        f"{count(len(taken.outings), 'outing')}, {count(taken.launches, 'launch', 'launches')} of each "
        f"preparation on each surface, {hours(taken.minutes)} outside."
    )
    given = f"It gives {chance_words(taken.chance)} of a clear answer{_of_what(offer)}"
    best = offer.candidate(offer.recommendation.best)
    if offer.recommendation.rule == "reaches":
        yield f"{given}: the shortest that reaches {_percent(REACHED)}."
    elif taken.number == best.number:
        yield f"{given}: the most there is."
    else:
        yield f"{given}: the shortest close to the most there is, {_percent(best.chance)}."
    if taken.chance < LIKELY_OPEN:
        yield (
            "So the likely outcome is TOO CLOSE TO CALL, whatever is true: see below what would change that, "
            "before anything is bought."
        )


def _of_what(offer: Offer) -> str:
    if offer.main is not None:
        return f" on {offer.main}"
    return ", on average over the surfaces" if len(offer.surfaces) > 1 else ""


def shown_layouts(offer: Offer) -> tuple[Candidate, ...]:
    """Layouts of the frontier that are worth a line: each gives clearly more than the one before."""
    shown: list[Candidate] = []
    for one in offer.frontier or offer.candidates[:1]:
        marked = one.number in {offer.recommendation.number, offer.recommendation.best}
        if marked or not shown or one.chance >= shown[-1].chance + STEP:
            shown.append(one)
    return tuple(shown)


def _layouts(offer: Offer) -> Table:
    rows = [
        (
            f"{one.number}{' <' if one.number == offer.recommendation.number else '  '}",
            str(one.rounds),
            str(one.launches),
            str(len(one.outings)),
            hours(one.minutes),
            _percent(one.chance),
        )
        for one in shown_layouts(offer)
    ]
    return Table(
        caption="What each hour outside buys:",
        columns=("layout  ", "rounds", "launches", "outings", "outside", "clear answer"),
        rows=tuple(rows),
        align=("right",) * 6,
    )


def _comparisons(offer: Offer, taken: Candidate) -> Table:
    margins = {one.name: margin_words(offer, one.margin) for one in offer.surfaces}
    same = len(set(margins.values())) == 1
    several = len(offer.treatments) > 2
    rows = [
        (
            f"{one.surface}: {one.treatment}" if several else one.surface,
            *(() if same else (margins[one.surface],)),
            _percent(one.alike_if_none),
            _percent(one.differs_if_margin),
            "-" if one.width is None else _width(offer, one.width),
        )
        for one in taken.comparisons
    ]
    return Table(
        caption=textwrap.fill(
            f"With layout {taken.number}: the chance of a clear answer if there is no difference, and if it "
            "is just what matters; and how far the range at the end reaches:",
            WIDTH,
        ),
        columns=(
            "on",
            *(() if same else ("matters",)),
            "if none",
            f"if {margins[taken.comparisons[0].surface]}" if same else "if so much",
            "range",
        ),
        rows=tuple(rows),
        align=("left", "right", "right", "right") if same else ("left", "right", "right", "right", "right"),
    )


def _rows(offer: Offer) -> Iterator[tuple[str, str]]:
    yield "Scatter", scatter_words(offer)
    if offer.measured_in:
        yield "Measured", measured_words(offer)
    if offer.assumed:
        yield "Assumed", assumed_words(offer)
    if offer.wishes:
        yield f"For {_percent(REACHED)}", wish_words(offer, most=MOST_WISHES)
    if len(offer.dropped) > 1:
        yield "A day lost", dropped_words(offer)
    remarks = list(_remarks(offer))
    for at, remark in enumerate(remarks):
        yield ("Mind" if at == 0 else ""), remark


def _remarks(offer: Offer) -> Iterator[str]:
    taken = offer.recommended
    cannot = [one for one in taken.comparisons if not one.can_reject]
    if cannot:
        names = list(dict.fromkeys(one.surface for one in cannot))
        least = max(one.smallest_p for one in cannot)
        joint = ""
        if taken.joint_p is not None and taken.joint_p <= offer.level:
            joint = "; over all surfaces at once it can"
        yield (
            f"The test by the order cannot show a difference on {_all(names, offer)} with so few rounds "
            f"(p {least:.2g} at best{joint}); the verdict rests on the t test."
        )
    if offer.too_short:
        names = [outing_name(offer, number) for number in offer.too_short]
        yield f"{listed(names)}: too short for one round, so not used."
    if offer.looks > 1 and not offer.looks_counted:
        yield "The half-way check is not in these chances; it costs a little."
    if offer.bounded:
        yield f"The search stopped at {_bounds(offer)}."


def _all(names: Sequence[str], offer: Offer) -> str:
    if len(names) == len(offer.surfaces) > 2:
        return "any surface"
    return listed(names)


def _bounds(offer: Offer) -> str:
    words = {"rounds": "rounds", "launches": "launches each", "layouts": "layouts"}
    return listed([f"{number} {words[name]}" for name, number in offer.bounded.items()])


def _percent(share: float) -> str:
    return chance_words(share, bare=True)


def _width(offer: Offer, width: float) -> str:
    """Half the width of the interval, either way."""
    if offer.scale == "ratio":
        return f"±{with_unit(fixed(percent_change(width / 2), 0 if width > 0.1 else 1), '%')}"
    return f"±{with_unit(f'{width / 2:.2g}', offer.unit)}"
