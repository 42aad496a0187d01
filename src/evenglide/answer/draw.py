"""What is left of the randomisation test where treatments were not given as drawn."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import replace

from evenglide.answer.results import Answer, Contrast
from evenglide.show.notes import note
from evenglide.study.study import Study

LEFT = frozenset({"items-otherwise", "treatment-otherwise"})
"""Departures by which another piece of gear got a treatment than the draw said."""
FIELDS = (
    "p_randomisation",
    "smallest_p",
    "assignments",
    "interval_randomisation",
    "randomisation_method",
    "randomisation_draws",
    "randomisation_error",
    "p_randomisation_joint",
)


def draw_was_left(study: Study, departures: Set[str]) -> bool:
    """Whether the draw no longer says who could have got which treatment.

    Gear launched in parallel may be launched in any order; preparations that follow each other on one
    piece of gear may not, as their place in time is what was drawn.
    """
    in_time = study.design.layout == "in sequence" and "order-changed" in departures
    return in_time or not LEFT.isdisjoint(departures)


def without_randomisation(answer: Answer) -> Answer:
    """Take every number of the randomisation tests out of an answer, with a note that says why."""
    surfaces = tuple(
        replace(surface, contrasts=tuple(_without(contrast) for contrast in surface.contrasts))
        for surface in answer.surfaces
    )
    audit = tuple(entry for entry in answer.audit if entry.code != "randomisation-cannot-reject")
    return replace(answer, surfaces=surfaces, audit=audit)


def _without(contrast: Contrast) -> Contrast:
    if contrast.estimate is None:
        return contrast
    return replace(
        contrast,
        p_randomisation=None,
        smallest_p=None,
        assignments=None,
        log10_assignments=None,
        interval_randomisation=None,
        randomisation_method=None,
        randomisation_draws=None,
        randomisation_error=None,
        p_randomisation_joint=None,
        notes=(
            *(one for one in contrast.notes if not set(one.fields) & set(FIELDS)),
            note("order-changed", *FIELDS),
        ),
    )
