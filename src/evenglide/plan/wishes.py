"""What would make an impossible wish possible, one change at a time; and what a spoilt outing costs."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.candidates import EFFECTS, design_of, headline, least_p
from evenglide.plan.chances import chances_of
from evenglide.plan.designs import LayoutDesign
from evenglide.plan.layouts import Desk, Layout, Search, search_layouts
from evenglide.plan.limits import WITHIN, sharing
from evenglide.plan.results import REACHED, DroppedOuting, Wish
from evenglide.plan.shortlist import rough_chances
from evenglide.study.study import Study

MOST_ROUNDS_WISHED = 200
WIDEST = 6.0
"""Margins up to so many times the one stated are tried."""
HALVINGS = 9
WORTH_LITTLE = 12.0
"""Scatter known with fewer degrees of freedom than this is worth measuring."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """A layout of a study, and what it is judged by.

    Parameters
    ----------
    study : Study
        With its gaps filled.
    search : Search
        That found it.
    layout : Layout
    belief : ScatterBelief
    chance : float
        Its headline chance. [1]
    """

    study: Study
    search: Search
    layout: Layout
    belief: ScatterBelief
    chance: float

    @property
    def design(self) -> LayoutDesign:
        """The layout as the test will see it."""
        return design_of(self.study, self.search.outings, self.layout)


def wishes_for(chosen: Chosen) -> tuple[Wish, ...]:
    """Find, one by one, the changes that would bring the headline chance to 80 %.

    Parameters
    ----------
    chosen : Chosen
        The layout recommended.

    Returns
    -------
    tuple of Wish
        Empty if it reaches 80 % as it is.
    """
    if chosen.chance >= REACHED:
        return ()
    made = [
        _more_rounds(chosen),
        _wider_margin(chosen),
        _main_surface(chosen),
        _fewer_surfaces(chosen),
        _steadier(chosen),
        _known_scatter(chosen),
    ]
    return tuple(one for one in made if one is not None)


def dropped_outings(chosen: Chosen) -> tuple[DroppedOuting, ...]:
    """Say what is left of a layout if one of its outings is spoilt: whole rounds of the others.

    Parameters
    ----------
    chosen : Chosen

    Returns
    -------
    tuple of DroppedOuting
        One for each outing that is used.
    """
    layout, design = chosen.layout, chosen.design
    outing_of = [outing for outing, rounds in enumerate(layout.spread) for _ in range(rounds)]
    left = [_without_outing(design, outing_of, outing) for outing in layout.used]
    chances = chances_of(left, chosen.belief, effects=EFFECTS, either=False)
    return tuple(
        DroppedOuting(
            outing=chosen.search.outings[outing].number,
            rounds=layout.rounds - layout.spread[outing],
            chance=headline(chosen.study, case.cautious),
            surfaces_lost=tuple(one.surface for one in less.surfaces if not one.rounds),
            cannot_reject=_rejects(chosen.study, design) and not _rejects(chosen.study, less),
        )
        for outing, less, case in zip(layout.used, left, chances, strict=True)
    )


def _without_outing(design: LayoutDesign, outing_of: Sequence[int], spoilt: int) -> LayoutDesign:
    surfaces = [
        replace(one, rounds=tuple(at for at in one.rounds if outing_of[at] != spoilt))
        for one in design.surfaces
    ]
    return replace(design, surfaces=tuple(surfaces))


def _rejects(study: Study, design: LayoutDesign) -> bool:
    """Whether the test by the order can show a difference on every surface."""
    others = len(study.treatments) - 1
    for one in design.surfaces:
        for other in range(others):
            rounds = sum(study.design.blocks != "pairs" or at % others == other for at in one.rounds)
            least = least_p(study, rounds=rounds, all_rounds=len(one.rounds))
            if least > study.level / sharing(study, one.surface) + WITHIN:
                return False
    return True


# ------------------------------------------------------------------------------------------ wishes


def _chance(chosen: Chosen, design: LayoutDesign, *, belief: ScatterBelief | None = None) -> float:
    """Headline chance of a design; the main surface is looked at alone, since it shares with no other."""
    main = tuple(one for one in design.surfaces if one.surface == design.main)
    alone = replace(design, surfaces=main or design.surfaces)
    (case,) = chances_of([alone], belief or chosen.belief, effects=EFFECTS, either=False)
    return headline(chosen.study, case.cautious)


def _more_rounds(chosen: Chosen) -> Wish:
    """Rounds on every surface, launched as often as recommended, until it is enough."""
    desk, launches = Desk(chosen.study), chosen.layout.launches

    def design(rounds: int) -> LayoutDesign:
        whole = tuple(range(rounds))
        surfaces = tuple(replace(one, rounds=whole) for one in chosen.design.surfaces)
        return replace(chosen.design, rounds=rounds, surfaces=surfaces)

    rounds = _first(
        lambda number: _chance(chosen, design(number)) >= REACHED, chosen.layout.rounds, MOST_ROUNDS_WISHED
    )
    number = rounds or MOST_ROUNDS_WISHED
    held = [most for most in desk.capacities(launches) if most]
    used = held[: len(chosen.search.outings)]
    minutes = number * desk.longest_round(chosen.layout.used[0], launches)
    chance = _chance(chosen, design(number))
    return Wish(
        kind="rounds",
        amount=None if rounds is None else float(rounds),
        name="",
        outings=math.ceil(number * len(used) / sum(used)),
        minutes=minutes,
        chance=chance,
        reaches=chance >= REACHED,
    )


def _first(enough: Callable[[int], bool], known: int, most: int) -> int | None:
    """Smallest number above `known` that is enough, if chances rise with it; None up to `most`."""
    if not enough(most):
        return None
    low, high = known, most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _wider_margin(chosen: Chosen) -> Wish:
    """The same layout with every margin so many times as wide."""

    def design(times: float) -> LayoutDesign:
        surfaces = [
            replace(one, margin=one.margin and (times * one.margin[0], times * one.margin[1]))
            for one in chosen.design.surfaces
        ]
        return replace(chosen.design, surfaces=tuple(surfaces))

    times = _bisected(lambda x: _chance(chosen, design(x)) >= REACHED, failing=1.0, reaching=WIDEST)
    margin = chosen.design.surfaces[_asked(chosen)].margin
    chance = _chance(chosen, design(times or WIDEST))
    return Wish(
        kind="margin",
        amount=None if times is None or margin is None else times * margin[1],
        name=chosen.design.surfaces[_asked(chosen)].surface,
        outings=None,
        minutes=None,
        chance=chance,
        reaches=chance >= REACHED,
    )


def _asked(chosen: Chosen) -> int:
    """Place of the main surface, else of the first."""
    names = [one.surface for one in chosen.design.surfaces]
    return names.index(chosen.study.main) if chosen.study.main in names else 0


def _bisected(enough: Callable[[float], bool], *, failing: float, reaching: float) -> float | None:
    """Where between two values it begins to be enough, on the side where it is; None if nowhere."""
    if not enough(reaching):
        return None
    for _ in range(HALVINGS):
        middle = (failing + reaching) / 2
        failing, reaching = (failing, middle) if enough(middle) else (middle, reaching)
    return reaching


def _main_surface(chosen: Chosen) -> Wish | None:
    """One surface as the main one, which then shares the level with no other."""
    if chosen.study.main is not None or len(chosen.study.surfaces) == 1:
        return None
    found = []
    for surface in chosen.study.surfaces:
        study = replace(chosen.study, main=surface.name)
        found.append(
            (_chance(replace(chosen, study=study), replace(chosen.design, main=surface.name)), surface)
        )
    chance, surface = max(found, key=lambda one: one[0])
    return Wish(
        kind="main",
        amount=None,
        name=surface.name,
        outings=None,
        minutes=None,
        chance=chance,
        reaches=chance >= REACHED,
    )


def _fewer_surfaces(chosen: Chosen) -> Wish | None:
    """Surfaces left out from the end, never the main one, for more rounds in the same outings."""
    best: Wish | None = None
    for study in fewer_surfaces(chosen.study):
        search = search_layouts(study)
        if not search.layouts:
            continue
        designs = [design_of(study, search.outings, layout) for layout in search.layouts]
        at = int(rough_chances(designs, chosen.belief).argmax())
        chance = _chance(replace(chosen, study=study), designs[at])
        if best is None or chance > best.chance:
            kept = {one.name for one in study.surfaces}
            best = Wish(
                kind="fewer surfaces",
                amount=float(len(kept)),
                name=", ".join(one.name for one in chosen.study.surfaces if one.name not in kept),
                outings=len(search.layouts[at].used),
                minutes=search.layouts[at].minutes,
                chance=chance,
                reaches=chance >= REACHED,
            )
        if best.reaches:
            break
    return best


def fewer_surfaces(study: Study) -> tuple[Study, ...]:
    """Studies with one surface less each, taken from the end; the main one stays."""
    found = []
    while len(study.surfaces) > 1:
        last = next(one.name for one in reversed(study.surfaces) if one.name != study.main)
        outings = tuple(
            replace(one, surfaces=tuple(name for name in one.surfaces if name != last))
            for one in study.costs.outings
            if one.surfaces != (last,)
        )
        if study.costs.outings and not outings:
            break
        study = replace(
            study,
            surfaces=tuple(one for one in study.surfaces if one.name != last),
            costs=replace(study.costs, outings=outings),
        )
        found.append(study)
    return tuple(found)


def _steadier(chosen: Chosen) -> Wish | None:
    """Preparations that scatter less: more care at the bench."""
    belief = chosen.belief

    def steady(share: float) -> ScatterBelief:
        return replace(belief, preparations=belief.preparations * share)

    if belief.preparations == 0 or belief.launches == 0:
        return None
    share = _bisected(
        lambda x: _chance(chosen, chosen.design, belief=steady(x)) >= REACHED, failing=1.0, reaching=0.0
    )
    chance = _chance(chosen, chosen.design, belief=steady(share or 0.0))
    return Wish(
        kind="steadier preparations",
        amount=None if share is None else share * belief.preparations,
        name="",
        outings=None,
        minutes=None,
        chance=chance,
        reaches=chance >= REACHED,
    )


def _known_scatter(chosen: Chosen) -> Wish | None:
    """The same scatter, were it known: what fresh tests of it can bring at most."""
    if chosen.belief.df is None or chosen.belief.df > WORTH_LITTLE:
        return None
    chance = _chance(chosen, chosen.design, belief=chosen.belief.known())
    return Wish(
        kind="known scatter",
        amount=None,
        name="",
        outings=None,
        minutes=None,
        chance=chance,
        reaches=chance >= REACHED,
    )
