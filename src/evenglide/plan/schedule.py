"""From a study to the list of launches: rounds, preparations, set-ups, launches in turn.

All chance is drawn first (orders, then tags); what follows is fixed by it, so that the same seed gives
the same list for good.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from evenglide.errors import Problem, StudyError
from evenglide.plan.orders import (
    Order,
    RoundToDraw,
    Source,
    draw_order,
    estimable,
    imbalance,
    largest_imbalance,
)
from evenglide.plan.rounds import Round, items_stay, make_rounds
from evenglide.plan.tags import Tags
from evenglide.study.schedule import LaunchKind, Schedule, ScheduledLaunch
from evenglide.study.study import Study

MOST_LAUNCHES = 100_000
"""Nobody walks further than this in a life of launching."""

Draw = dict[tuple[str, str], tuple[str, ...]]
"""Treatment of each slot, by label of the round and surface."""


def plan_schedule(
    study: Study,
    *,
    blocks: int,
    launches: int,
    seed: int,
    outings: int | None = None,
    spread: Sequence[int] | None = None,
) -> Schedule:
    """Plan the launches of a study.

    Parameters
    ----------
    study : Study
    blocks : int
        Rounds.
    launches : int
        Of each preparation on each surface it meets, over all directions together.
    seed : int
        Chance comes from ``random.Random(seed).random()`` alone.
    outings : int or None
        Outings over which the rounds are spread; default: those of the study, else one.
    spread : sequence of int or None
        Rounds of each outing instead, as for `make_rounds`.

    Returns
    -------
    Schedule

    Raises
    ------
    StudyError
        If such a plan cannot be made, or no fair order of it exists.
    """
    _check_launches(study, launches)
    rounds = make_rounds(study, blocks=blocks, outings=outings, spread=spread)
    _check_length(sum(len(one.path) * len(one.treatments) for one in rounds) * launches)
    uniform = random.Random(seed).random
    limit = imbalance_limit(study, rounds)
    draw = draw_treatments(study, rounds, uniform)
    writer = _Writer(study=study, each=launches // len(study.design.directions))
    tags = Tags(uniform) if study.hidden_from else None
    for one in rounds:
        for coats in _coats(study, one, draw):
            dealt = tags.deal(len(coats.slots)) if tags else ("",) * len(coats.slots)
            writer.write(one, coats, dealt)
    return Schedule(
        launches=tuple(writer.launches), seed=seed, rule=order_rule(study, limit), largest_imbalance=limit
    )


def undrawn_launches(study: Study, one: Round, *, launches: int) -> tuple[ScheduledLaunch, ...]:
    """List the launches of one round as if nothing had to be drawn, to see what it takes.

    Parameters
    ----------
    study : Study
    one : Round
    launches : int
        Of each preparation on each surface, over all directions together.

    Returns
    -------
    tuple of ScheduledLaunch
    """
    writer = _Writer(study=study, each=launches // len(study.design.directions))
    draw = {(one.label, surface): one.treatments for surface in one.path}
    for coats in _coats(study, one, draw):
        writer.write(one, coats, ("",) * len(coats.slots))
    return tuple(writer.launches)


def order_rule(study: Study, limit: int | None) -> str:
    """Say in one sentence from which orders the order was drawn.

    Parameters
    ----------
    study : Study
    limit : int or None
        Largest slot imbalance allowed.

    Returns
    -------
    str
    """
    slot = "positions in time" if study.design.layout == "in sequence" else "items"
    each = " for each surface by itself" if study.design.preparations == "fresh on each surface" else ""
    among = "every order was equally likely"
    if not items_stay(study) and study.design.layout == "in parallel":
        among = "every order that leaves each comparison an estimate beside the items was equally likely"
    elif limit is not None:
        among = f"every order with a slot imbalance of at most {limit} either way was equally likely"
    return f"treatments were drawn to {slot} within rounds{each}; {among}"


def imbalance_limit(study: Study, rounds: Sequence[Round]) -> int | None:
    """Largest slot imbalance allowed; None where the order is not restricted."""
    return largest_imbalance(len(rounds)) if study.design.order == "balanced" else None


def draw_treatments(study: Study, rounds: Sequence[Round], uniform: Source) -> Draw:
    """Draw treatments to slots: once for all surfaces, or for each where preparations are fresh.

    Parameters
    ----------
    study : Study
    rounds : sequence of Round
    uniform : callable
        Source of chance.

    Returns
    -------
    dict
        Treatment of each slot, by label of the round and surface.
    """
    shared = study.design.preparations == "shared over surfaces"
    groups = [None] if shared else [surface.name for surface in study.surfaces]
    draw: Draw = {}
    for surface in groups:
        met = [one for one in rounds if surface is None or surface in one.path]
        to_draw = [one.to_draw(None if surface is None else (surface,)) for one in met]
        order = draw_order(to_draw, uniform, allowed=_rule(study, to_draw, imbalance_limit(study, met)))
        for one, names in zip(met, order, strict=True):
            draw |= {(one.label, on): names for on in (one.path if surface is None else (surface,))}
    return draw


def _rule(study: Study, rounds: Sequence[RoundToDraw], limit: int | None) -> Callable[[Order], bool]:
    if items_stay(study):
        return lambda order: True
    if limit is None:
        return lambda order: estimable(order, rounds)
    treated = study.treatments[1].name
    return lambda order: abs(imbalance(order, treated)) <= limit


def _check_launches(study: Study, launches: int) -> None:
    ways = len(study.design.directions)
    if launches >= 1 and launches % ways == 0:
        return
    raise StudyError(
        [
            Problem(
                code="bad-count",
                where="--launches",
                found=f"{launches} launches of each preparation on each surface",
                expected="at least one" if ways == 1 else f"as many in each of the {ways} directions",
                remedy=f"Plan {max(ways, (launches + ways - 1) // ways * ways)}.",
            )
        ]
    )


def _check_length(counted: int) -> None:
    if counted > MOST_LAUNCHES:
        raise StudyError(
            [
                Problem(
                    code="bad-count",
                    where="--launches",
                    found=f"{counted:,} launches that count",
                    expected=f"at most {MOST_LAUNCHES:,}",
                    remedy="Plan fewer rounds or launches.",
                )
            ]
        )


# ------------------------------------------------------------------------------- coats and launches


@dataclass(frozen=True, slots=True, kw_only=True)
class _Coats:
    """Preparations that are launched in turn, and the surfaces that they meet."""

    slots: tuple[int, ...]
    treatments: tuple[str, ...]
    path: tuple[str, ...]


def _coats(study: Study, one: Round, draw: Draw) -> Iterator[_Coats]:
    """Part a round into preparations that are there at the same time."""
    paths = [one.path]
    if study.design.preparations == "fresh on each surface":
        paths = [(surface,) for surface in one.path]
    for path in paths:
        names = draw[one.label, path[0]]
        slots = tuple(range(len(names)))
        together = [slots] if study.design.layout == "in parallel" else [(slot,) for slot in slots]
        for some in together:
            yield _Coats(slots=some, treatments=tuple(names[slot] for slot in some), path=path)


@dataclass(slots=True, kw_only=True)
class _Writer:
    """Writes launches one after the other and counts set-ups and preparations."""

    study: Study
    each: int
    launches: list[ScheduledLaunch] = field(default_factory=list)
    set_ups: int = 0
    preparations: int = 0

    def write(self, one: Round, coats: _Coats, tags: Sequence[str]) -> None:
        """Write every launch of preparations that are there at the same time."""
        design = self.study.design
        first = [
            self._prepared(one, slot, treatment=coats.treatments[at], tag=tags[at])
            for at, slot in enumerate(coats.slots)
        ]
        gear = first
        for surface in coats.path:
            for direction in one.directions:
                gear = self._set_up(first, surface, direction)
                self._in_turn(gear, design.practice_launches, "practice")
                self._in_turn(gear, self.each, "launch")
        if design.wear_check and wear_checked(self.study, coats.path):
            gear = self._set_up(first, coats.path[0], one.directions[0])
            self._in_turn(gear, design.wear_check, "wear check")
        if not items_stay(self.study):
            self._in_turn(gear, design.return_to_bare, "return to bare")

    def _prepared(self, one: Round, slot: int, *, treatment: str, tag: str) -> ScheduledLaunch:
        self.preparations += 1
        return ScheduledLaunch(
            number=0,
            outing=one.outing,
            block=one.label,
            set_up=0,
            surface="",
            direction="",
            preparation=f"p{self.preparations}",
            item=one.items[slot],
            treatment=treatment,
            tag=tag,
        )

    def _set_up(self, gear: Sequence[ScheduledLaunch], surface: str, direction: str) -> list[ScheduledLaunch]:
        """Set the rig up; who starts there changes from round to round and from surface to surface."""
        self.set_ups += 1
        place = [one.name for one in self.study.surfaces].index(surface)
        turn = int(gear[0].block) + place + self.study.design.directions.index(direction)
        start = turn % len(gear)
        here = [replace(one, set_up=self.set_ups, surface=surface, direction=direction) for one in gear]
        return [*here[start:], *here[:start]]

    def _in_turn(self, gear: Sequence[ScheduledLaunch], turns: int, kind: LaunchKind) -> None:
        """Launch each once a turn, every other turn the other way round: A B B A A B B A ..."""
        for turn in range(turns):
            for one in gear[:: -1 if turn % 2 else 1]:
                self.launches.append(replace(one, number=len(self.launches) + 1, kind=kind))


def wear_checked(study: Study, path: Sequence[str]) -> bool:
    """Whether coats can go back to their first surface: they met others, and no rule forbids it.

    Parameters
    ----------
    study : Study
    path : sequence of str
        Surfaces in the order in which the coats meet them.

    Returns
    -------
    bool
    """
    if len(path) < 2:
        return False
    first = next(surface for surface in study.surfaces if surface.name == path[0])
    return not set(first.not_after) & set(path[1:])
