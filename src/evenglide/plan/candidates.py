"""Layouts with their chances, numbered: the frontier first; and the one recommended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from evenglide.plan.designs import LayoutDesign, SurfaceDesign
from evenglide.plan.layout_chances import ContrastChances, LayoutChances, SharingCase
from evenglide.plan.layouts import Layout
from evenglide.plan.limits import WITHIN, sharing
from evenglide.plan.orders import largest_imbalance, orders_within
from evenglide.plan.results import REACHED, Candidate, ComparisonChances, OfferedOuting, Recommendation
from evenglide.plan.rounds import items_stay
from evenglide.study.study import Study

EFFECTS = (0.0, 1.0, 2.0)
"""True effects that candidates are judged at: none, the margin, twice the margin."""
NEAR = 0.05
"""So much chance is not worth a longer day."""


def design_of(study: Study, outings: Sequence[OfferedOuting], layout: Layout) -> LayoutDesign:
    """Layout as the test will see it.

    Parameters
    ----------
    study : Study
    outings : sequence of OfferedOuting
    layout : Layout

    Returns
    -------
    LayoutDesign
    """
    met = [outings[outing].surfaces for outing, rounds in enumerate(layout.spread) for _ in range(rounds)]
    columns = len(study.items) - 1 if study.design.layout == "in parallel" and not items_stay(study) else 0
    return LayoutDesign(
        surfaces=tuple(
            SurfaceDesign(
                surface=surface.name,
                rounds=tuple(at for at, names in enumerate(met) if surface.name in names),
                launches=layout.launches,
                margin=surface.margin or study.margin,
                items=columns,
            )
            for surface in study.surfaces
        ),
        rounds=len(met),
        treatments=len(study.treatments),
        shared=study.design.preparations == "shared over surfaces",
        level=study.level,
        adjust=study.adjust,
        main=study.main,
        pairs=study.design.blocks == "pairs",
    )


def headline(study: Study, case: SharingCase) -> float:
    """Chance of a clear answer whichever way the truth lies, mean over the comparisons that matter.

    Parameters
    ----------
    study : Study
    case : SharingCase
        At no effect, then at the margin.

    Returns
    -------
    float
        Over the main surface where there is one, else over all.
    """
    asked = [one for one in case.contrasts if study.main in (None, one.surface)]
    return sum(min(_at(one.alike, 0), one.differs[1]) for one in asked) / len(asked)


def make_candidates(
    study: Study,
    outings: Sequence[OfferedOuting],
    *,
    layouts: Sequence[Layout],
    chances: Sequence[LayoutChances],
) -> tuple[Candidate, ...]:
    """Put chances beside what layouts take; mark the frontier and number all.

    Parameters
    ----------
    study : Study
        With its gaps filled.
    outings : sequence of OfferedOuting
    layouts : sequence of Layout
    chances : sequence of LayoutChances
        One for each layout, at no effect, the margin and twice the margin.

    Returns
    -------
    tuple of Candidate
        By number.
    """
    made = [
        _candidate(study, outings, layout=layout, case=case.cautious)
        for layout, case in zip(layouts, chances, strict=True)
    ]
    by_cost = sorted(made, key=lambda one: (one.minutes, -one.chance, one.rounds, one.launches, one.outings))
    best = 0.0
    frontier: list[Candidate] = []
    others: list[Candidate] = []
    for one in by_cost:
        beats = one.chance > best
        (frontier if beats else others).append(replace(one, frontier=beats))
        best = max(best, one.chance)
    return tuple(replace(one, number=at + 1) for at, one in enumerate([*frontier, *others]))


def recommend(candidates: Sequence[Candidate]) -> Recommendation:
    """Choose the layout to take: the shortest that reaches 80 %, else the shortest near the best.

    Parameters
    ----------
    candidates : sequence of Candidate
        Those on the frontier first, by minutes; at least one.

    Returns
    -------
    Recommendation
    """
    frontier = [one for one in candidates if one.frontier] or list(candidates[:1])
    best = frontier[-1]
    reaching = [one for one in frontier if one.chance >= REACHED]
    if reaching:
        return Recommendation(number=reaching[0].number, rule="reaches", best=best.number)
    near = next(one for one in frontier if one.chance >= best.chance - NEAR)
    return Recommendation(number=near.number, rule="near the best", best=best.number)


def spread_of(candidate: Candidate) -> tuple[int, ...]:
    """Rounds of each outing of the study in order, as a schedule is planned with.

    Parameters
    ----------
    candidate : Candidate

    Returns
    -------
    tuple of int
        Up to the last outing that is used.
    """
    spread = [0] * max(candidate.outings)
    for outing, rounds in zip(candidate.outings, candidate.rounds_of_outings, strict=True):
        spread[outing - 1] = rounds
    return tuple(spread)


def least_p(study: Study, *, rounds: int, all_rounds: int) -> float:
    """Least p that the test by the order could give for one comparison.

    Parameters
    ----------
    study : Study
    rounds : int
        Rounds that hold both treatments on the surface.
    all_rounds : int
        Of the layout, which a restricted order is about.

    Returns
    -------
    float
        With three treatments in a round, orders without an estimate are not taken off: the least p may be
        a little larger.
    """
    if not rounds:
        return 1.0
    if study.design.order == "balanced" and (limit := largest_imbalance(all_rounds)) is not None:
        return 2 / orders_within(all_rounds, limit)
    alike = items_stay(study) or study.design.layout == "in sequence"
    orders = 2**rounds - (0 if alike else 2)
    return min(1.0, 2 / orders) if orders else 1.0


# ---------------------------------------------------------------------------------------- private


def _candidate(
    study: Study, outings: Sequence[OfferedOuting], *, layout: Layout, case: SharingCase
) -> Candidate:
    comparisons = tuple(_comparison(study, one, layout, error=case.error) for one in case.contrasts)
    shared = study.design.preparations == "shared over surfaces"
    joint = shared and len(study.treatments) == 2 and len(study.surfaces) > 1
    used = layout.used
    return Candidate(
        number=0,
        outings=tuple(outings[at].number for at in used),
        rounds_of_outings=tuple(layout.spread[at] for at in used),
        rounds=layout.rounds,
        launches=layout.launches,
        preparations=layout.preparations,
        set_ups=layout.set_ups,
        launches_in_all=layout.launches_in_all,
        minutes=layout.minutes,
        minutes_of_outings=tuple(layout.minutes_of_outings[at] for at in used),
        slack_of_outings=tuple(outings[at].minutes - layout.minutes_of_outings[at] for at in used),
        chance=headline(study, case),
        all_clear=min(_at(case.all_alike, 0), case.all_differ[1]),
        joint_p=min(one.smallest_p for one in comparisons) if joint else None,
        comparisons=comparisons,
        frontier=False,
    )


def _comparison(study: Study, one: ContrastChances, layout: Layout, *, error: float) -> ComparisonChances:
    smallest = least_p(study, rounds=one.rounds, all_rounds=layout.rounds)
    needed = study.level / sharing(study, one.surface)
    return ComparisonChances(
        surface=one.surface,
        treatment=study.treatments[one.treatment].name,
        rounds=one.rounds,
        df=one.df,
        alike_if_none=_at(one.alike, 0),
        differs_if_margin=one.differs[1],
        matters_if_twice=_at(one.matters, 2),
        width=one.width,
        smallest_p=smallest,
        needed=needed,
        can_reject=smallest <= needed + WITHIN,
        error=error,
    )


def _at(chances: Sequence[float] | None, place: int) -> float:
    """Chance at one true effect; none where the claim cannot be made."""
    return 0.0 if chances is None else chances[place]
