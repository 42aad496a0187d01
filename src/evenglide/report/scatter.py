"""Where the scatter comes from: preparations against launches on one preparation, as lengths.

Two lengths for each surface, measured off from nought like a piece cut from a tape: how far
preparations of one treatment lie from each other once rounds, gear and the launches' own scatter
are taken out, and how far launches on one preparation do.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from evenglide.answer.results import Answer
from evenglide.report.look import LIGHT
from evenglide.report.pen import Ruler, Spec, ends, numbers_at, picture, rules, shortened, words
from evenglide.show.numbers import NO_BREAK, fixed, percent_scatter, with_unit

PREPARATIONS, LAUNCHES = "preparations", "launches on one"
LENGTH_ROW = 18
SURFACE_GAP = 16
END_ROOM = 160
NARROWEST_WIDE = 500
"""Width from which there is room for long names. [px]"""

CLEARLY_MORE = 1.25
"""Ratio from which one scatter is called larger than the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Scatter on one surface, in percent or in the response's unit; None where unknown.

    `share` is the share of the doubt about a preparation's value that its launches add.
    """

    surface: str
    preparations: float | None
    launches: float | None
    share: float | None


Row = tuple[Scatter, float]
"""A surface and the depth of its upper length."""


def scatters_of(answer: Answer) -> tuple[Scatter, ...]:
    """Take the scatter of every surface, in the unit in which it is written."""
    return tuple(_scatters(answer))


def _scatters(answer: Answer) -> Iterator[Scatter]:
    for surface in answer.surfaces:
        if surface.scatter is not None:
            yield Scatter(
                surface=surface.surface or "",
                preparations=_written(answer, surface.scatter.preparations),
                launches=_written(answer, surface.scatter.launches),
                share=surface.scatter.share_of_launches,
            )


def _written(answer: Answer, sd: float | None) -> float | None:
    if sd is None:
        return None
    return percent_scatter(sd) if answer.scale == "ratio" else sd


def scatter_unit(answer: Answer) -> str | None:
    """Unit in which scatter is written."""
    return "%" if answer.scale == "ratio" else answer.response.unit


def scatter_finding(scatters: Sequence[Scatter]) -> str:
    """Tell in one sentence which scatter is the larger, over all surfaces."""
    both = [one for one in scatters if one.launches is not None and one.preparations is not None]
    if not both:
        return "Preparations and launches cannot be told apart here"
    preparations = median([one.preparations or 0.0 for one in both])
    launches = median([one.launches or 0.0 for one in both])
    if preparations == 0:
        return "Preparations scatter no more than their launches would let them"
    if launches >= CLEARLY_MORE * preparations:
        times = fixed(launches / preparations, 1)
        return f"Launches on one preparation scatter about {times} times as much as preparations"
    if preparations >= CLEARLY_MORE * launches:
        times = fixed(preparations / launches, 1) if launches else "many"
        return f"Preparations scatter about {times} times as much as launches on one of them"
    return "Preparations scatter about as much as launches on one of them"


def launches_share(scatters: Sequence[Scatter]) -> str:
    """Tell how much of the doubt about a preparation's value its launches add; "" where unknown."""
    shares = [min(1.0, one.share) for one in scatters if one.share is not None]
    if not shares:
        return ""
    low, high = (f"{fixed(100 * share, 0)}{NO_BREAK}%" for share in (min(shares), max(shares)))
    told = low if low == high else f"{low} to {high}"
    return f"Here launches add {told} of the doubt about what a preparation is worth, by its variance."


def scatter_chart(answer: Answer, *, width: float) -> Spec:
    """Draw both lengths for every surface.

    Parameters
    ----------
    answer : Answer
    width : float
        Of the picture. [px]

    Returns
    -------
    dict
        Vega-Lite, without grammar version and configuration.
    """
    scatters = scatters_of(answer)
    longest = max(
        [length for one in scatters for length in (one.preparations, one.launches) if length], default=1.0
    )
    left = 150.0 if width > NARROWEST_WIDE else 92.0
    ruler = Ruler(low=0.0, high=longest, left=left, right=width - END_ROOM)
    rows = [(one, place * (2 * LENGTH_ROW + SURFACE_GAP)) for place, one in enumerate(scatters)]
    layers = _lengths(rows, ruler, unit=scatter_unit(answer)) if rows else []
    return picture(layers, width=width, height=len(rows) * (2 * LENGTH_ROW + SURFACE_GAP))


def _lengths(rows: Sequence[Row], ruler: Ruler, *, unit: str | None) -> list[Spec]:
    """Draw two lengths for each surface, each with a short upright at both ends, as on a drawing."""
    names = [(shortened(one.surface, room=ruler.left - 10), top + LENGTH_ROW / 2) for one, top in rows]
    layers = [words(names, left=0)]
    told: list[tuple[float, float, str]] = []
    for place, (name, thickness) in enumerate(((PREPARATIONS, 4.0), (LAUNCHES, 1.5))):
        lengths = [
            ((one.preparations, one.launches)[place], top + LENGTH_ROW * (place + 0.5)) for one, top in rows
        ]
        known = [(length, depth) for length, depth in lengths if length is not None]
        told += [(length, depth, f"{_written_length(length, unit)} {name}") for length, depth in known]
        told += [(0.0, depth, f"{name}: not known") for length, depth in lengths if length is None]
        layers.append(rules([(0.0, *one) for one in known], ruler, color=LIGHT["ink"], strokeWidth=thickness))
        both = [(end, depth - 5, depth + 5) for length, depth in known for end in (0.0, length)]
        layers.append(ends(both, ruler, color=LIGHT["ink"], strokeWidth=1.5))
    return [*layers, numbers_at(told, ruler, dx=9)]


def _written_length(length: float, unit: str | None) -> str:
    return with_unit(fixed(length, _decimals(length)), unit)


def _decimals(length: float) -> int:
    """Two significant digits: a scatter from ten preparations is known to about a quarter."""
    return max(0, 1 - math.floor(math.log10(length))) if length > 0 else 0
