"""Invented offers for the plan page: a hill club's snow sliders, planned for days that nobody lived.

Every number is made up, yet no offer contradicts itself: chances follow from one normal law with a scatter
that is taken as known, the error rate is shared by Bonferroni, hours follow from the steps of the timeline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from scipy.special import ndtr, ndtri

from evenglide.plan.results import (
    Assumed,
    Candidate,
    ComparisonChances,
    Curve,
    DroppedOuting,
    Misfit,
    Offer,
    OfferedOuting,
    OfferedSurface,
    Recommendation,
    ScatterUsed,
    Step,
    Timeline,
    Wish,
)

LEVEL = 0.05
PREPARATIONS, LAUNCHES = 0.03, 0.06
FIVE = (-math.log(1.05), math.log(1.05))
TEN = (-math.log(1.10), math.log(1.10))
HILLS = ("cold powder", "groomed snow", "wet spring snow", "melt pan")
PREPARING, WAITING, SETTING_UP, LAUNCHING = 30.0, 20.0, 8.0, 2.0
BARE, RUB, WAX = "bare", "paraffin rub", "hard wax"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What an invented offer is about."""

    title: str = "Does a paraffin rub make the club's snow sliders run farther? (invented)"
    surfaces: tuple[str, ...] = HILLS
    treatments: tuple[str, ...] = (BARE, RUB)
    margin: tuple[float, float] = TEN
    main: str | None = None
    days: tuple[tuple[str, str, str], ...] | None = (
        ("2026-01-17", "09:00", "13:30"),
        ("2026-01-18", "09:00", "13:30"),
        ("2026-01-24", "08:30", "15:00"),
    )
    windows: tuple[float, ...] = (270.0, 270.0, 390.0)
    layouts: tuple[tuple[tuple[int, ...], int], ...] = (
        ((0, 0, 2), 3),
        ((0, 0, 3), 2),
        ((0, 0, 3), 3),
        ((0, 0, 2), 5),
        ((1, 0, 3), 3),
        ((0, 2, 3), 2),
        ((2, 0, 3), 3),
        ((1, 1, 2), 5),
        ((2, 2, 3), 1),
        ((2, 2, 3), 2),
        ((2, 2, 3), 3),
    )
    scale: str = "ratio"
    unit: str | None = "m"
    assumed: bool = False


def offer(wanted: Wanted | None = None) -> Offer:
    """Make a whole offer."""
    wanted = wanted or Wanted()
    candidates = tuple(_numbered(wanted))
    frontier = [one for one in candidates if one.frontier]
    best = frontier[-1]
    reaching = [one for one in frontier if one.chance >= 0.8]
    near = next(one for one in frontier if one.chance >= best.chance - 0.05)
    taken = (reaching or [near])[0]
    rule = "reaches" if reaching else "near the best"
    return Offer(
        title=wanted.title,
        scale="ratio" if wanted.scale == "ratio" else "difference",
        unit=wanted.unit,
        level=LEVEL,
        treatments=wanted.treatments,
        main=wanted.main,
        surfaces=tuple(
            OfferedSurface(
                name=name, margin=wanted.margin, family=_family(wanted, name), main=name == wanted.main
            )
            for name in wanted.surfaces
        ),
        sharing="shared",
        scatter=ScatterUsed(
            source="unknown" if wanted.assumed else "stated",
            file=None,
            preparations=PREPARATIONS,
            launches=LAUNCHES,
            worth=3.0,
            low=0.021,
            high=0.068,
            below_nought=False,
            assumed=("preparations", "launches", "worth") if wanted.assumed else (),
        ),
        voids=0.05,
        outings=_outings(wanted),
        assumed=tuple(_assumed(wanted)),
        searched=412,
        bounded={},
        candidates=candidates,
        misfit=Misfit(rounds=9, launches=2, why="outing too short", minutes=114.0, most=270.0),
        recommendation=Recommendation(
            number=taken.number, rule="reaches" if rule == "reaches" else "near the best", best=best.number
        ),
        wishes=() if reaching else _wishes(wanted, taken),
        dropped=tuple(_dropped(wanted, taken)),
        curves=tuple(_curves(wanted, taken)),
        timelines=tuple(_timelines(wanted, taken)),
    )


def many_layouts(count: int = 30) -> Offer:
    """Make an offer with a long frontier."""
    layouts = tuple(((0, 0, 2 + place // 3), 1 + place) for place in range(count))
    return offer(Wanted(layouts=layouts, windows=(270.0, 270.0, 6000.0)))


def _numbered(wanted: Wanted) -> Iterator[Candidate]:
    made = sorted(
        (_candidate(wanted, spread, launches) for spread, launches in wanted.layouts),
        key=lambda one: (one.minutes, -one.chance),
    )
    best, frontier, others = 0.0, [], []
    for one in made:
        (frontier if one.chance > best else others).append(replace(one, frontier=one.chance > best))
        best = max(best, one.chance)
    for number, one in enumerate([*frontier, *others], start=1):
        yield replace(one, number=number)


def _candidate(wanted: Wanted, spread: Sequence[int], launches: int) -> Candidate:
    used = [at for at, rounds in enumerate(spread) if rounds]
    minutes = [_minutes(wanted, spread[at], launches) for at in used]
    comparisons = tuple(_comparisons(wanted, sum(spread), launches))
    asked = [one for one in comparisons if wanted.main in (None, one.surface)]
    rounds, each = sum(spread), len(wanted.treatments)
    return Candidate(
        number=0,
        outings=tuple(at + 1 for at in used),
        rounds_of_outings=tuple(spread[at] for at in used),
        rounds=rounds,
        launches=launches,
        preparations=rounds * each,
        set_ups=rounds * len(wanted.surfaces),
        launches_in_all=rounds * each * launches * len(wanted.surfaces),
        minutes=sum(minutes),
        minutes_of_outings=tuple(minutes),
        slack_of_outings=tuple(wanted.windows[at] - took for at, took in zip(used, minutes, strict=True)),
        chance=sum(one.clear for one in asked) / len(asked),
        all_clear=math.prod(one.clear for one in comparisons),
        joint_p=2.0 / 2**rounds,
        comparisons=comparisons,
        frontier=False,
    )


def _comparisons(wanted: Wanted, rounds: int, launches: int) -> Iterator[ComparisonChances]:
    for place, surface in enumerate(wanted.surfaces):
        for treatment in wanted.treatments[1:]:
            needed = LEVEL / _family(wanted, surface)
            error = _se(rounds, launches, place)
            high = wanted.margin[1]
            yield ComparisonChances(
                surface=surface,
                treatment=treatment,
                rounds=rounds,
                df=max(rounds - 1, 1),
                alike_if_none=_alike(0.0, error, high, needed),
                differs_if_margin=_differs(high, error, needed),
                matters_if_twice=_matters(2 * high, error, high, needed),
                width=2 * float(-ndtri(needed / 2)) * error,
                smallest_p=min(1.0, 2.0 / max(2**rounds - 2, 1)),
                needed=needed,
                can_reject=2.0 / max(2**rounds - 2, 1) <= needed,
                error=0.0,
            )


def _curves(wanted: Wanted, taken: Candidate) -> Iterator[Curve]:
    high = wanted.margin[1]
    effects = tuple(3.0 * high * place / 30 for place in range(31))
    for one in taken.comparisons:
        error = _se(taken.rounds, taken.launches, wanted.surfaces.index(one.surface))
        yield Curve(
            candidate=taken.number,
            surface=one.surface,
            treatment=one.treatment,
            effects=effects,
            differs=tuple(_differs(effect, error, one.needed) for effect in effects),
            alike=tuple(_alike(effect, error, high, one.needed) for effect in effects),
            matters=tuple(_matters(effect, error, high, one.needed) for effect in effects),
            settled=tuple(_conclusive(effect, error, high, one.needed) for effect in effects),
        )


def _dropped(wanted: Wanted, taken: Candidate) -> Iterator[DroppedOuting]:
    for outing, rounds in zip(taken.outings, taken.rounds_of_outings, strict=True):
        left = taken.rounds - rounds
        own = list(_comparisons(wanted, left, taken.launches)) if left else []
        yield DroppedOuting(
            outing=outing,
            rounds=left,
            chance=sum(one.clear for one in own) / len(own) if own else 0.0,
            surfaces_lost=wanted.surfaces if not left else (),
            cannot_reject=not left,
        )


def _wishes(wanted: Wanted, taken: Candidate) -> tuple[Wish, ...]:
    return (
        Wish(kind="rounds", amount=14.0, name="", outings=6, minutes=1630.0, chance=0.81, reaches=True),
        Wish(
            kind="margin",
            amount=1.6 * wanted.margin[1],
            name=wanted.surfaces[0],
            outings=None,
            minutes=None,
            chance=0.8,
            reaches=True,
        ),
        Wish(
            kind="known scatter",
            amount=None,
            name="",
            outings=None,
            minutes=None,
            chance=min(0.79, taken.chance + 0.1),
            reaches=False,
        ),
    )


def _timelines(wanted: Wanted, taken: Candidate) -> Iterator[Timeline]:
    first = 1
    for outing, rounds in zip(taken.outings, taken.rounds_of_outings, strict=True):
        day = wanted.days[outing - 1] if wanted.days else None
        window = wanted.windows[outing - 1]
        steps = list(_steps(wanted, first, rounds, taken.launches))
        first += rounds
        end = steps[-1].start + steps[-1].minutes
        if end < window:
            rest = Step(
                kind="to spare", start=end, minutes=window - end, round="", surface="", direction="", count=0
            )
            steps.append(rest)
        yield Timeline(
            outing=outing,
            day=day[0] if day else None,
            start=day[1] if day else None,
            window=window,
            steps=tuple(steps),
        )


def _steps(wanted: Wanted, first: int, rounds: int, launches: int) -> Iterator[Step]:
    now, each = 0.0, len(wanted.treatments)
    for number in range(first, first + rounds):
        turn = number % len(wanted.surfaces)
        order = [*wanted.surfaces[turn:], *wanted.surfaces[:turn]]
        pieces = [("prepare", PREPARING, "", each), ("wait", WAITING, "", each)]
        for surface in order:
            pieces.append(("set up", SETTING_UP, surface, 1))
            pieces.append(("launch", LAUNCHING * each * launches, surface, each * launches))
        for kind, minutes, surface, count in pieces:
            yield Step(
                kind=kind,  # type: ignore[arg-type]
                start=now,
                minutes=minutes,
                round=str(number),
                surface=surface,
                direction="out" if surface else "",
                count=count,
            )
            now += minutes


def _outings(wanted: Wanted) -> tuple[OfferedOuting, ...]:
    made = []
    for at, window in enumerate(wanted.windows):
        day = wanted.days[at] if wanted.days else (None, None, None)
        made.append(
            OfferedOuting(
                number=at + 1, day=day[0], start=day[1], end=day[2], minutes=window, surfaces=wanted.surfaces
            )
        )
    return tuple(made)


def _assumed(wanted: Wanted) -> Iterator[Assumed]:
    if not wanted.assumed:
        return
    for name in wanted.treatments:
        yield Assumed(code="hands_on", whose=name, value=600.0 if name == BARE else 1200.0)
    yield Assumed(code="rig_set_up", whose="", value=720.0)
    for name in wanted.surfaces:
        yield Assumed(code="minutes_per_launch", whose=name, value=180.0)
    yield Assumed(code="voids", whose="", value=0.05)
    if wanted.days is None:
        yield Assumed(code="outings", whose="", value=240.0)


def _minutes(wanted: Wanted, rounds: int, launches: int) -> float:
    each = len(wanted.treatments) * launches * LAUNCHING + SETTING_UP
    return rounds * (PREPARING + WAITING + each * len(wanted.surfaces))


def _family(wanted: Wanted, surface: str) -> int:
    others = len(wanted.treatments) - 1
    if wanted.main is None:
        return others * len(wanted.surfaces)
    return others if surface == wanted.main else others * (len(wanted.surfaces) - 1)


def _se(rounds: int, launches: int, place: int) -> float:
    """Standard error of an estimate; each surface scatters a little more than the one before."""
    variance = (PREPARATIONS * (1 + 0.25 * place)) ** 2 + LAUNCHES**2 / launches
    return math.sqrt(2 * variance / rounds)


def _between(low: float, high: float, effect: float, error: float) -> float:
    return max(0.0, float(ndtr((high - effect) / error) - ndtr((low - effect) / error)))


def _reach(error: float, needed: float) -> float:
    return float(-ndtri(needed / 2)) * error


def _room(error: float, high: float, needed: float) -> float:
    return max(0.0, high - float(-ndtri(needed)) * error)


def _differs(effect: float, error: float, needed: float) -> float:
    reach = _reach(error, needed)
    return 1.0 - _between(-reach, reach, effect, error)


def _alike(effect: float, error: float, high: float, needed: float) -> float:
    room = _room(error, high, needed)
    return _between(-room, room, effect, error)


def _matters(effect: float, error: float, high: float, needed: float) -> float:
    beyond = high + _reach(error, needed)
    return 1.0 - _between(-beyond, beyond, effect, error)


def _conclusive(effect: float, error: float, high: float, needed: float) -> float:
    reach, room = _reach(error, needed), _room(error, high, needed)
    if room >= reach:
        return 1.0
    return 1.0 - _between(room, reach, effect, error) - _between(-reach, -room, effect, error)
