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
from evenglide.report.pen import Ruler, Spec, numbers_at, picture, rule, uprights, words
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
    layers: list[Spec] = []
    top, surface = 0.0, None
    for one in scatters:
        if one.surface != surface and one.surface:
            top += SURFACE_GAP if surface is not None else 0.0
            name = [(one.surface, top + NAME_ROW / 2)]
            layers.append(words(name, left=0, fontSize=14, fontWeight=600, limit=width))
            top += NAME_ROW
        surface = one.surface
        layers += _lengths(one, ruler, top=top, unit=scatter_unit(answer))
        top += 2 * LENGTH_ROW + TREATMENT_GAP
    return picture(layers, width=width, height=top)


def _lengths(one: Scatter, ruler: Ruler, *, top: float, unit: str | None) -> list[Spec]:
    """Draw the two lengths of one treatment, each with a short upright at both ends, as on a drawing."""
    colour = treatment_mark(one.code).colour
    layers = [words([(one.treatment, top + LENGTH_ROW / 2)], left=0, color=colour, limit=ruler.left - 10)]
    two = ((one.preparations, PREPARATIONS, 4.0), (one.launches, LAUNCHES, 1.5))
    for place, (length, name, thickness) in enumerate(two):
        depth = top + LENGTH_ROW * (place + 0.5)
        told = f"{name}: not known"
        if length is not None:
            told = f"{with_unit(fixed(length, _decimals(length)), unit)} {name}"
            layers.append(rule(0.0, length, ruler, depth=depth, color=colour, strokeWidth=thickness))
            ends: Spec = {"color": colour, "strokeWidth": 1.5}
            layers.append(uprights([0.0, length], ruler, top=depth - 5, foot=depth + 5, **ends))
        layers.append(numbers_at([(length or 0.0, told)], ruler, depth=depth, dx=9))
    return layers


def _decimals(length: float) -> int:
    """Two significant digits: a scatter from ten preparations is known to about a quarter."""
    return max(0, 1 - math.floor(math.log10(length))) if length > 0 else 0
