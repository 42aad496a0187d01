"""Whether effects depend on the surface, as the answer states it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from evenglide.analysis.between import PairDifference, SurfaceDependence, dependence_on_surface
from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.claims import interval_of
from evenglide.analysis.rule import Rule
from evenglide.answer.results import BetweenSurfaces, SurfacePair
from evenglide.readings.launches import Launches
from evenglide.show.notes import note


def between_surfaces(cases: Sequence[SurfaceCase], rule: Rule) -> tuple[BetweenSurfaces, ...]:
    """Compare each treatment's effect over surfaces that were measured in the same way."""
    return tuple(_compared(cases, rule)) if cases else ()


def _compared(cases: Sequence[SurfaceCase], rule: Rule) -> Iterator[BetweenSurfaces]:
    launches = cases[0].launches
    marks = dict.fromkeys(_mark(case, rule) for case in cases)
    for treatment in range(1, len(launches.treatment.labels)):
        for mark in marks:
            alike = [case for case in cases if _mark(case, rule) == mark]
            found = dependence_on_surface(alike, treatment, shared=launches.shared)
            if found is not None:
                yield _stated(found, launches, treatment=treatment, rule=rule)


def _mark(case: SurfaceCase, rule: Rule) -> tuple[str, float | None]:
    """Kind of mark, and for a timed mark its time: only such effects are of one kind."""
    return case.observations.mark, rule.after_s.get(case.surface)


def _stated(found: SurfaceDependence, launches: Launches, *, treatment: int, rule: Rule) -> BetweenSurfaces:
    names = launches.surface.labels
    notes = []
    if found.test is None:
        notes.append(note("surfaces-not-joined", "f", "df", "p", reason=REASONS[found.missing or ""]))
    if any(pair.estimate.se is None for pair in found.pairs):
        notes.append(note("surface-pair-not-tested", "pairs"))
    return BetweenSurfaces(
        treatment=launches.treatment.labels[treatment],
        reference=launches.treatment.labels[0],
        surfaces=tuple(names[code] for code in found.surfaces),
        method=found.method,
        f=None if found.test is None else found.test.f,
        df=None if found.test is None else found.test.df,
        p=None if found.test is None else found.test.p,
        pairs=tuple(_pair(pair, names, rule) for pair in found.pairs),
        notes=tuple(notes),
    )


def _pair(pair: PairDifference, names: Sequence[str], rule: Rule) -> SurfacePair:
    first, second = pair.surfaces
    return SurfacePair(
        surfaces=(names[first], names[second]),
        estimate=pair.estimate.estimate,
        se=pair.estimate.se,
        df=pair.estimate.df,
        interval=interval_of(pair.estimate, rule.level / 2),
        p=pair.p,
    )


REASONS = {
    "": "a standard error is missing",
    "few-complete": "too few preparations have a value on every surface",
    "no-df": "too few preparations to know their scatter",
    "no-scatter": "the preparations agree to the last digit",
}
"""Why there is no test over all surfaces, in words."""
