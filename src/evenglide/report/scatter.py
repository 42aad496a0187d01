"""Where the scatter comes from: preparations against launches on one preparation, as lengths.

Two lengths for each treatment on each surface, measured off from nought like a piece cut from a
tape: how far preparations lie from each other, and how far launches on one preparation do. More
launches shorten only what the second one adds.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from evenglide.answer.results import Answer
from evenglide.report.look import treatment_mark
from evenglide.report.pen import Ruler, Spec, ends, numbers_at, picture, rules, shortened, words
from evenglide.show.numbers import fixed, percent_scatter, with_unit

PREPARATIONS, LAUNCHES = "preparations", "launches on one"
LENGTH_ROW = 18
TREATMENT_GAP = 7
SURFACE_GAP = 16
NAME_ROW = 26
END_ROOM = 160
NARROWEST_WIDE = 500
"""Width from which there is room for long names. [px]"""

CLEARLY_MORE = 1.25
"""Ratio from which one scatter is called larger than the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Scatter of one treatment on one surface, in percent or in the response's unit; None where unknown."""

    surface: str
    treatment: str
    code: int
    preparations: float | None
    launches: float | None


Row = tuple[Scatter, float]
"""A treatment and the depth of its upper length."""


def scatters_of(answer: Answer) -> tuple[Scatter, ...]:
    """Take the scatter of every treatment that was launched, in the unit in which it is written."""
    return tuple(_scatters(answer))


def _scatters(answer: Answer) -> Iterator[Scatter]:
    for surface in answer.surfaces:
        for code, facts in enumerate(surface.treatments):
            if facts.preparations:
                yield Scatter(
                    surface=surface.surface or "",
                    treatment=facts.treatment,
                    code=code,
                    preparations=_written(answer, facts.sd_preparations),
                    launches=_written(answer, facts.sd_launches),
                )


def _written(answer: Answer, sd: float | None) -> float | None:
    if sd is None:
        return None
    return percent_scatter(sd) if answer.scale == "ratio" else sd


def scatter_unit(answer: Answer) -> str | None:
    """Unit in which scatter is written."""
    return "%" if answer.scale == "ratio" else answer.response.unit


def scatter_finding(scatters: Sequence[Scatter]) -> str:
    """Tell in one sentence which scatter is the larger, over all surfaces and treatments."""
    both = [
        one.launches / one.preparations for one in scatters if one.launches is not None and one.preparations
    ]
    if not both:
        return "Preparations and launches cannot be told apart here"
    ratio = median(both)
    if ratio >= CLEARLY_MORE:
        return f"Launches on one preparation scatter about {fixed(ratio, 1)} times as much as preparations"
    if ratio <= 1 / CLEARLY_MORE:
        return f"Preparations scatter about {fixed(1 / ratio, 1)} times as much as launches on one of them"
    return "Preparations scatter about as much as launches on one of them"


def scatter_chart(answer: Answer, *, width: float) -> Spec:
    """Draw both lengths for every treatment on every surface.

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
    rows, heads, height = _rows(scatters)
    told = [(shortened(name, room=width, size=14), depth) for name, depth in heads]
    layers = [words(told, left=0, fontSize=14, fontWeight=600)] if told else []
    for code in sorted({one.code for one, _ in rows}):
        layers += _treatment([row for row in rows if row[0].code == code], ruler, unit=scatter_unit(answer))
    return picture(layers, width=width, height=height)


def _rows(scatters: Sequence[Scatter]) -> tuple[list[Row], list[tuple[str, float]], float]:
    """Give each treatment its depth under the name of its surface; and the height of all."""
    rows: list[Row] = []
    heads: list[tuple[str, float]] = []
    top, surface = 0.0, None
    for one in scatters:
        if one.surface != surface and one.surface:
            top += SURFACE_GAP if surface is not None else 0.0
            heads.append((one.surface, top + NAME_ROW / 2))
            top += NAME_ROW
        surface = one.surface
        rows.append((one, top))
        top += 2 * LENGTH_ROW + TREATMENT_GAP
    return rows, heads, top


def _treatment(rows: Sequence[Row], ruler: Ruler, *, unit: str | None) -> list[Spec]:
    """Draw the two lengths of one treatment, each with a short upright at both ends, as on a drawing."""
    colour = treatment_mark(rows[0][0].code).colour
    names = [(shortened(one.treatment, room=ruler.left - 10), top + LENGTH_ROW / 2) for one, top in rows]
    layers = [words(names, left=0, color=colour)]
    told: list[tuple[float, float, str]] = []
    for place, (name, thickness) in enumerate(((PREPARATIONS, 4.0), (LAUNCHES, 1.5))):
        lengths = [
            ((one.preparations, one.launches)[place], top + LENGTH_ROW * (place + 0.5)) for one, top in rows
        ]
        known = [(length, depth) for length, depth in lengths if length is not None]
        told += [(length, depth, f"{_written_length(length, unit)} {name}") for length, depth in known]
        told += [(0.0, depth, f"{name}: not known") for length, depth in lengths if length is None]
        layers.append(rules([(0.0, *one) for one in known], ruler, color=colour, strokeWidth=thickness))
        both = [(end, depth - 5, depth + 5) for length, depth in known for end in (0.0, length)]
        layers.append(ends(both, ruler, color=colour, strokeWidth=1.5))
    return [*layers, numbers_at(told, ruler, dx=9)]


def _written_length(length: float, unit: str | None) -> str:
    return with_unit(fixed(length, _decimals(length)), unit)


def _decimals(length: float) -> int:
    """Two significant digits: a scatter from ten preparations is known to about a quarter."""
    return max(0, 1 - math.floor(math.log10(length))) if length > 0 else 0
