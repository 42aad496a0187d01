r"""Every layout worth having: rounds, launches and outings that fit together.

A round is never cut in two, so an outing holds whole rounds. What a round takes is linear in its launches,

.. math:: t = t_0 + n\, t_1,

with both parts read off the list of launches that would be written, so that what is told is what happens.
Rounds are spread over the outings used as evenly as they fit. Of layouts that differ only in which outings
are used, the one with the fewest outings is kept, then the shortest, then the earliest.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from evenglide.plan.day import OUTING_MINUTES, minutes_taken, window_minutes
from evenglide.plan.results import Misfit, OfferedOuting
from evenglide.plan.rounds import block_size, items_stay, make_round, surfaces_of_outing
from evenglide.plan.schedule import undrawn_launches
from evenglide.study.study import Study

MOST_ROUNDS = 40
MOST_LAUNCHES = 20
"""Of each preparation on each surface; more steady a preparation no further."""
MOST_LAYOUTS = 2_000
ROUNDS_WITHOUT_OUTINGS = 24
"""Where the study names no outings."""
MOST_SUBSETS_OF = 4
"""Of so many outings any may be left out; of more, the last ones only."""
FEW_LAUNCHES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20)
"""Tried where every number would be too many."""
FEWEST_ROUNDS = 2
"""Of each comparison, where a treatment has to change items to be told from them."""
ALMOST = 1e-9
"""[min]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Rounds on outings, with what they take.

    Parameters
    ----------
    spread : tuple of int
        Rounds of each outing of the study, in order, those without any included.
    launches : int
        Of each preparation on each surface.
    minutes_of_outings : tuple of float
        As `spread`. [min]
    set_ups, preparations, launches_in_all : int
    """

    spread: tuple[int, ...]
    launches: int
    minutes_of_outings: tuple[float, ...]
    set_ups: int
    preparations: int
    launches_in_all: int

    @property
    def rounds(self) -> int:
        """Rounds on all outings together."""
        return sum(self.spread)

    @property
    def used(self) -> tuple[int, ...]:
        """Places of the outings with rounds, from 0."""
        return tuple(at for at, rounds in enumerate(self.spread) if rounds)

    @property
    def minutes(self) -> float:
        """Time outside. [min]."""
        return sum(self.minutes_of_outings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """Layouts that fit, and what the search ran into.

    Parameters
    ----------
    outings : tuple of OfferedOuting
        Of the study; or of usual length, as many as the longest layout needs.
    layouts : tuple of Layout
        By rounds, launches, outings.
    searched : int
        Layouts looked at.
    bounded : mapping of str to int
        Bounds that cut the search short.
    misfit : Misfit or None
        The next step that does not fit; None where only a bound stopped the search.
    too_short : tuple of int
        Numbers of the outings that do not hold one round.
    """

    outings: tuple[OfferedOuting, ...]
    layouts: tuple[Layout, ...]
    searched: int
    bounded: Mapping[str, int]
    misfit: Misfit | None
    too_short: tuple[int, ...]


def search_layouts(study: Study) -> Search:
    """Find every layout worth having.

    Parameters
    ----------
    study : Study
        With its gaps filled.

    Returns
    -------
    Search
        Without any layout if not even one round fits.
    """
    desk = Desk(study)
    whole = every_number(study)
    found: dict[Key, Layout] = {}
    searched, bounded = 0, {}
    for everything, numbers in ((True, whole), (False, whole), (False, few_numbers(study))):
        found, looked = _found(desk, numbers, everything=everything)
        searched = max(searched, looked)
        if len(found) <= MOST_LAYOUTS:
            break
        bounded["layouts"] = MOST_LAYOUTS
    layouts = sorted(found.values(), key=lambda one: (one.minutes, one.rounds, one.launches, one.spread))
    layouts = layouts[:MOST_LAYOUTS]
    most = max((one.rounds for one in layouts), default=0)
    if most == desk.most_rounds and not desk.short_of_items:
        bounded["rounds"] = most
    if any(one.launches == whole[-1] for one in layouts):
        bounded["launches"] = whole[-1]
    return Search(
        outings=desk.outings,
        layouts=tuple(layouts),
        searched=searched,
        bounded=bounded,
        misfit=None if "rounds" in bounded or not layouts else desk.misfit(most + 1, whole[0]),
        too_short=tuple(at + 1 for at, most in enumerate(desk.capacities(whole[0])) if not most),
    )


Key = tuple[int, tuple[int, ...]]
"""What the chances of a layout hang on: launches, and rounds of each comparison."""


def _found(desk: Desk, numbers: Sequence[int], *, everything: bool) -> tuple[dict[Key, Layout], int]:
    """One layout for each key, and how many were looked at."""
    found: dict[Key, Layout] = {}
    searched = 0
    for launches in numbers:
        capacity = desk.capacities(launches)
        for used in _subsets(capacity, everything=everything):
            order = sorted((turn, at) for at in used for turn in range(capacity[at]))
            for rounds in range(len(used), min(len(order), desk.most_rounds) + 1):
                searched += 1
                spread = [0] * len(capacity)
                for _, at in order[:rounds]:
                    spread[at] += 1
                counts = desk.rounds_of_comparisons(tuple(spread))
                if min(counts) >= desk.fewest_rounds and (launches, counts) not in found:
                    found[launches, counts] = desk.layout(tuple(spread), launches)
    return found, searched


def _subsets(capacity: Sequence[int], *, everything: bool) -> Iterator[tuple[int, ...]]:
    """Sets of outings, fewest first, early ones first."""
    holding = [at for at, rounds in enumerate(capacity) if rounds]
    for size in range(1, len(holding) + 1):
        if everything and len(holding) <= MOST_SUBSETS_OF:
            yield from combinations(holding, size)
        else:
            yield tuple(holding[:size])


def every_number(study: Study) -> tuple[int, ...]:
    """Numbers of launches that are tried: as many in each direction."""
    ways = len(study.design.directions)
    return tuple(range(ways, MOST_LAUNCHES + 1, ways))


def few_numbers(study: Study) -> tuple[int, ...]:
    """Numbers of launches that are tried where every number would be too many."""
    return tuple(number for number in every_number(study) if number in FEW_LAUNCHES)


def offered_outings(study: Study) -> tuple[OfferedOuting, ...]:
    """Outings of a study; or as many of usual length as could be needed.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of OfferedOuting
    """
    names = tuple(surface.name for surface in study.surfaces)
    stated = [
        OfferedOuting(
            number=at + 1,
            day=one.day,
            start=one.start,
            end=one.end,
            minutes=window_minutes(one),
            surfaces=tuple(surface.name for surface in surfaces_of_outing(study, at)),
        )
        for at, one in enumerate(study.costs.outings)
    ]
    usual = [
        OfferedOuting(number=at + 1, day=None, start=None, end=None, minutes=OUTING_MINUTES, surfaces=names)
        for at in range(ROUNDS_WITHOUT_OUTINGS)
    ]
    return tuple(stated or usual)


# --------------------------------------------------------------------------------------- the desk


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundCost:
    """What a round takes without launches that count, and with each set of them (one in each direction).

    Parameters
    ----------
    minutes, more_minutes : float
        [min]
    set_ups, preparations : int
    launches, more_launches : int
        Of every kind.
    """

    minutes: float
    more_minutes: float
    set_ups: int
    preparations: int
    launches: int
    more_launches: int

    def minutes_with(self, sets: int) -> float:
        """Time with so many sets of launches. [min]."""
        return self.minutes + sets * self.more_minutes


class Desk:
    """Knows what rounds of a study take and how many an outing holds.

    Parameters
    ----------
    study : Study
        With its gaps filled.
    """

    def __init__(self, study: Study) -> None:
        self.study = study
        self.outings = offered_outings(study)
        self._ways = len(study.design.directions)
        self._costs: dict[tuple[int, int], RoundCost] = {}
        self._counts: dict[tuple[int, ...], tuple[int, ...]] = {}
        self._like = [
            next(at for at, other in enumerate(self.outings) if other.surfaces == one.surfaces)
            for one in self.outings
        ]
        bound = MOST_ROUNDS if study.costs.outings else ROUNDS_WITHOUT_OUTINGS
        held = len(study.items) // block_size(study) if items_stay(study) else bound
        self.short_of_items = held <= bound and items_stay(study)
        self.most_rounds = min(bound, held)
        drawn = study.design.layout == "in parallel" and not items_stay(study)
        self.fewest_rounds = FEWEST_ROUNDS if drawn else 1

    def cost(self, at: int, outing: int) -> RoundCost:
        """What round `at` takes on an outing, both from 0."""
        key = (at, self._like[outing])
        if key not in self._costs:
            one = make_round(self.study, at, outing=key[1])
            once, twice = (undrawn_launches(self.study, one, launches=n * self._ways) for n in (1, 2))
            minutes = minutes_taken(self.study, once)
            more = minutes_taken(self.study, twice) - minutes
            self._costs[key] = RoundCost(
                minutes=minutes - more,
                more_minutes=more,
                set_ups=len({launch.set_up for launch in once}),
                preparations=len({launch.preparation for launch in once}),
                launches=2 * len(once) - len(twice),
                more_launches=len(twice) - len(once),
            )
        return self._costs[key]

    def longest_round(self, outing: int, launches: int) -> float:
        """Time of the longest round that an outing may have to hold. [min]."""
        sets = launches // self._ways
        return max(self.cost(at, outing).minutes_with(sets) for at in range(self.most_rounds))

    def capacities(self, launches: int) -> tuple[int, ...]:
        """Whole rounds that each outing holds, beside the time that is kept free."""
        if not self.most_rounds:
            return (0,) * len(self.outings)
        free = 1 - (self.study.costs.reserve or 0.0)
        return tuple(
            min(self.most_rounds, int((free * one.minutes + ALMOST) // self.longest_round(at, launches)))
            for at, one in enumerate(self.outings)
        )

    def rounds_of_comparisons(self, spread: tuple[int, ...]) -> tuple[int, ...]:
        """Rounds of each comparison, surface by surface, treatment by treatment."""
        if spread not in self._counts:
            met = [
                self.outings[outing].surfaces for outing, rounds in enumerate(spread) for _ in range(rounds)
            ]
            others = len(self.study.treatments) - 1
            in_turn = self.study.design.blocks == "pairs"
            self._counts[spread] = tuple(
                sum(
                    surface.name in names and (not in_turn or at % others == other)
                    for at, names in enumerate(met)
                )
                for surface in self.study.surfaces
                for other in range(others)
            )
        return self._counts[spread]

    def layout(self, spread: tuple[int, ...], launches: int) -> Layout:
        """Layout of so many rounds on each outing, with what it takes."""
        sets = launches // self._ways
        outings = [outing for outing, rounds in enumerate(spread) for _ in range(rounds)]
        costs = [(outing, self.cost(at, outing)) for at, outing in enumerate(outings)]
        minutes = [0.0] * len(spread)
        for outing, cost in costs:
            minutes[outing] += cost.minutes_with(sets)
        return Layout(
            spread=spread,
            launches=launches,
            minutes_of_outings=tuple(minutes),
            set_ups=sum(cost.set_ups for _, cost in costs),
            preparations=sum(cost.preparations for _, cost in costs),
            launches_in_all=sum(cost.launches + sets * cost.more_launches for _, cost in costs),
        )

    def misfit(self, rounds: int, launches: int) -> Misfit:
        """Why no layout of so many rounds fits, with as few launches as can be."""
        longest = max(range(len(self.outings)), key=lambda at: self.outings[at].minutes)
        return Misfit(
            rounds=rounds,
            launches=launches,
            why="too few items" if rounds > self.most_rounds and self.short_of_items else "outing too short",
            minutes=self.longest_round(longest, launches),
            most=float(len(self.study.items)) if self.short_of_items else self.outings[longest].minutes,
        )
