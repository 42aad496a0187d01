"""What each hour outside buys: every layout of a study with its chances, and one recommended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from evenglide.errors import StudyError
from evenglide.plan.candidates import EFFECTS, design_of, make_candidates, recommend
from evenglide.plan.chances import chances_of
from evenglide.plan.day import FilledStudy, steps_of, with_usual_times
from evenglide.plan.layouts import Layout, Search, search_layouts
from evenglide.plan.limits import sharing
from evenglide.plan.obstacles import check_margins, nothing_fits
from evenglide.plan.results import Candidate, Curve, MeasuredTime, Offer, OfferedSurface, Step, Timeline
from evenglide.plan.rounds import make_rounds
from evenglide.plan.scatter import FoundScatter, find_scatter
from evenglide.plan.schedule import undrawn_launches
from evenglide.plan.shortlist import shortlist
from evenglide.plan.wishes import Chosen, dropped_outings, wishes_for
from evenglide.readings.launches import Launches
from evenglide.study.study import Study

FARTHEST = 3.0
"""Curves run from no effect to so many margins."""
POINTS = 16


def make_offer(
    study: Study, *, pilot: Launches | None = None, measured: tuple[MeasuredTime, ...] = ()
) -> Offer:
    """Work out what each hour outside buys. There is no chance in it: the same study, the same offer.

    Parameters
    ----------
    study : Study
    pilot : Launches or None
        Of the table that the study takes its scatter from.
    measured : tuple of MeasuredTime
        Times of the study that were measured, to be told.

    Returns
    -------
    Offer

    Raises
    ------
    StudyError
        If the study states no difference that matters, nothing fits, or the scatter cannot be settled.
    """
    check_margins(study)
    filled = with_usual_times(study)
    search = search_layouts(filled.study)
    if not search.layouts:
        raise StudyError([nothing_fits(filled.study)])
    scatter = find_scatter(filled.study, pilot)
    designs = [design_of(filled.study, search.outings, layout) for layout in search.layouts]
    kept = shortlist(search.layouts, designs, scatter.belief)
    candidates = make_candidates(
        filled.study,
        search.outings,
        layouts=[search.layouts[at] for at in kept],
        chances=chances_of([designs[at] for at in kept], scatter.belief, effects=EFFECTS, either=False),
    )
    return replace(
        _offer(filled, search, scatter=scatter, candidates=candidates),
        measured=measured,
        measured_in=study.costs.measured,
    )


def _offer(
    filled: FilledStudy, search: Search, *, scatter: FoundScatter, candidates: tuple[Candidate, ...]
) -> Offer:
    study = filled.study
    recommendation = recommend(candidates)
    taken = candidates[recommendation.number - 1]
    layout = layout_of(search, taken)
    chosen = Chosen(study=study, search=search, layout=layout, belief=scatter.belief, chance=taken.chance)
    last = max(max(one.outings) for one in candidates)
    return Offer(
        title=study.title,
        scale=study.scale,
        unit=study.unit,
        level=study.level,
        treatments=tuple(one.name for one in study.treatments),
        main=study.main,
        surfaces=_surfaces(study),
        sharing="shared" if study.design.preparations == "shared over surfaces" else "fresh",
        scatter=scatter.used,
        voids=study.expected_voids or 0.0,
        outings=search.outings if study.costs.outings else search.outings[:last],
        assumed=filled.assumed,
        searched=search.searched,
        bounded=search.bounded,
        looks=study.looks,
        looks_counted=False,
        too_short=search.too_short,
        candidates=candidates,
        misfit=search.misfit,
        recommendation=recommendation,
        wishes=wishes_for(chosen),
        dropped=dropped_outings(chosen),
        curves=_curves(chosen, number=taken.number),
        timelines=timelines_of(study, search, layout),
    )


def layout_of(search: Search, candidate: Candidate) -> Layout:
    """Layout that a candidate was made of."""
    spread = dict(zip(candidate.outings, candidate.rounds_of_outings, strict=True))
    wanted = tuple(spread.get(one.number, 0) for one in search.outings)
    return next(one for one in search.layouts if one.spread == wanted and one.launches == candidate.launches)


def timelines_of(study: Study, search: Search, layout: Layout) -> tuple[Timeline, ...]:
    """Tell each outing of a layout, step by step.

    Parameters
    ----------
    study : Study
        With its gaps filled.
    search : Search
    layout : Layout

    Returns
    -------
    tuple of Timeline
        One for each outing that is used.
    """
    rounds = make_rounds(study, blocks=layout.rounds, spread=layout.spread)
    made = []
    for at in layout.used:
        outing = search.outings[at]
        steps: list[Step] = []
        for one in rounds:
            if one.outing == at + 1:
                begun = steps[-1].start + steps[-1].minutes if steps else 0.0
                launches = undrawn_launches(study, one, launches=layout.launches)
                steps += [replace(step, start=begun + step.start) for step in steps_of(study, launches)]
        made.append(
            Timeline(
                outing=outing.number,
                day=outing.day,
                start=outing.start,
                window=outing.minutes,
                steps=_with_rest(steps, outing.minutes),
            )
        )
    return tuple(made)


def _with_rest(steps: Sequence[Step], window: float) -> tuple[Step, ...]:
    end = steps[-1].start + steps[-1].minutes
    if window <= end:
        return tuple(steps)
    rest = Step(kind="to spare", start=end, minutes=window - end, round="", surface="", direction="", count=0)
    return (*steps, rest)


def _surfaces(study: Study) -> tuple[OfferedSurface, ...]:
    return tuple(
        OfferedSurface(
            name=one.name,
            margin=one.margin or study.margin or (0.0, 0.0),
            family=sharing(study, one.name),
            main=one.name == study.main,
        )
        for one in study.surfaces
    )


def _curves(chosen: Chosen, *, number: int) -> tuple[Curve, ...]:
    times = tuple(float(x) for x in np.linspace(0.0, FARTHEST, POINTS))
    (chances,) = chances_of([chosen.design], chosen.belief, effects=times)
    highs = {one.surface: one.margin[1] for one in chosen.design.surfaces if one.margin}
    none = (0.0,) * len(times)
    return tuple(
        Curve(
            candidate=number,
            surface=one.surface,
            treatment=chosen.study.treatments[one.treatment].name,
            effects=tuple(x * highs[one.surface] for x in times),
            differs=one.differs,
            alike=one.alike or none,
            matters=one.matters or none,
            settled=one.conclusive or none,
        )
        for one in chances.cautious.contrasts
    )
