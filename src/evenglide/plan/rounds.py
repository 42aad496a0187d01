"""The rounds of a study before the draw: which treatments, items and surfaces meet in each, and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenglide.errors import Problem, StudyError
from evenglide.plan.neighbours import williams_row
from evenglide.plan.orders import RoundToDraw
from evenglide.show.typed import listing
from evenglide.study.study import Study, Surface


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One round with its place in time.

    Parameters
    ----------
    label : str
    outing : int
        From 1.
    path : tuple of str
        Surfaces in the order in which they are met.
    directions : tuple of str
        In the order in which they are run.
    treatments, items : tuple of str
        One for each slot, before the draw; the reference first.
    """

    label: str
    outing: int
    path: tuple[str, ...]
    directions: tuple[str, ...]
    treatments: tuple[str, ...]
    items: tuple[str, ...]

    def to_draw(self, surfaces: tuple[str, ...] | None = None) -> RoundToDraw:
        """What a draw must know of this round; on some surfaces only, if they are given."""
        return RoundToDraw(treatments=self.treatments, items=self.items, surfaces=surfaces or self.path)


def make_rounds(
    study: Study, *, blocks: int, outings: int | None = None, spread: Sequence[int] | None = None
) -> tuple[Round, ...]:
    """Lay out the rounds of a study.

    Parameters
    ----------
    study : Study
    blocks : int
        Number of rounds.
    outings : int or None
        Number of outings over which they are spread evenly, none cut in two; default: those of the study,
        else one.
    spread : sequence of int or None
        Rounds of each outing instead, in the order of the study's outings; they add up to `blocks`.

    Returns
    -------
    tuple of Round

    Raises
    ------
    StudyError
        If the wishes do not fit together, with everything that does not.
    """
    count = outings or len(study.costs.outings) or 1
    problems = [*_counts(study, blocks, 1 if spread else count)]
    if problems:
        raise StudyError(problems)
    evenly = [at * count // blocks for at in range(blocks)]
    stated = [outing for outing, rounds in enumerate(spread or ()) for _ in range(rounds)]
    rounds = [make_round(study, at, outing=outing) for at, outing in enumerate(stated or evenly)]
    _check_surfaces(study, rounds)
    return tuple(rounds)


def make_round(study: Study, at: int, *, outing: int) -> Round:
    """Lay out one round.

    Parameters
    ----------
    study : Study
    at, outing : int
        Which round it is and which outing, both from 0.

    Returns
    -------
    Round
    """
    return Round(
        label=str(at + 1),
        outing=outing + 1,
        path=surface_path(surfaces_of_outing(study, outing), turn=at),
        directions=study.design.directions[:: -1 if at % 2 else 1],
        treatments=_treatments(study, at),
        items=_items(study, at),
    )


def surface_path(surfaces: Sequence[Surface], *, turn: int) -> tuple[str, ...]:
    """Order in which surfaces are met: a row of a Williams design, as far as "not after" rules allow.

    Parameters
    ----------
    surfaces : sequence of Surface
        Their rules leave some order.
    turn : int
        From 0.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> dry, damp = Surface(name="dry", not_after=("water",)), Surface(name="damp")
    >>> [surface_path([dry, damp, Surface(name="water")], turn=turn) for turn in range(3)]
    [('dry', 'damp', 'water'), ('damp', 'dry', 'water'), ('dry', 'water', 'damp')]
    """
    left = [surfaces[at] for at in williams_row(len(surfaces), turn)]
    path: list[str] = []
    while left:
        free = next(one for one in left if not any(one.name in other.not_after for other in left))
        left.remove(free)
        path.append(free.name)
    return tuple(path)


def surfaces_of_outing(study: Study, outing: int) -> tuple[Surface, ...]:
    """Surfaces that can be met on an outing, from 0; all where the study does not say."""
    known = study.costs.outings
    met = known[outing].surfaces if outing < len(known) else ()
    return tuple(surface for surface in study.surfaces if not met or surface.name in met)


def items_stay(study: Study) -> bool:
    """Whether an item carries one treatment for good, since some treatment never comes off."""
    return any(not treatment.removable for treatment in study.treatments)


def block_size(study: Study) -> int:
    """Preparations in a round."""
    return 2 if study.design.blocks == "pairs" else len(study.treatments)


# ---------------------------------------------------------------------------------------- private


def _treatments(study: Study, at: int) -> tuple[str, ...]:
    """Treatments of a round; pairs hold the reference and the others in turn."""
    names = [treatment.name for treatment in study.treatments]
    if study.design.blocks == "complete blocks":
        return tuple(names)
    return names[0], names[1 + at % (len(names) - 1)]


def _items(study: Study, at: int) -> tuple[str, ...]:
    names, size = [item.name for item in study.items], block_size(study)
    if items_stay(study):
        return tuple(names[at * size : (at + 1) * size])
    if study.design.layout == "in sequence":
        return (names[at % len(names)],) * size
    return tuple(names)


def _counts(study: Study, blocks: int, outings: int) -> list[Problem]:
    problems = []
    if blocks < 1:
        problems.append(
            _problem("bad-count", "--blocks", str(blocks), "at least one round", "Plan one or more.")
        )
    if outings > max(blocks, 1):
        problems.append(
            _problem(
                "too-many-outings",
                "--outings",
                f"{outings} outings for {blocks} rounds",
                "at most one outing for each round",
                "Plan more rounds, or fewer outings.",
            )
        )
    needed = blocks * block_size(study)
    if items_stay(study) and len(study.items) < needed:
        problems.append(
            _problem(
                "too-few-items",
                "item",
                f"{len(study.items)} items",
                f"{needed}: each item carries one treatment for good, and {blocks} rounds need {needed}",
                "Plan fewer rounds, or add items.",
            )
        )
    return problems


def _check_surfaces(study: Study, rounds: Sequence[Round]) -> None:
    met = {name for one in rounds for name in one.path}
    missed = [surface.name for surface in study.surfaces if surface.name not in met]
    if missed:
        raise StudyError(
            [
                _problem(
                    "surface-not-met",
                    "costs.outings",
                    f"no outing with a round that meets {listing(missed)}",
                    "each surface on at least one outing",
                    "Add it to an outing, or plan more rounds.",
                )
            ]
        )
    partial = any(len(one.path) < len(study.surfaces) for one in rounds)
    if partial and study.design.order == "balanced" and study.design.preparations == "shared over surfaces":
        raise StudyError(
            [
                _problem(
                    "balanced-order",
                    "design.order",
                    '"balanced", with outings that do not meet every surface',
                    "rounds that all meet the same surfaces, or a uniform order",
                    'Write order = "uniform".',
                )
            ]
        )


def _problem(code: str, *told: str) -> Problem:
    where, found, expected, remedy = told
    return Problem(code=code, where=where, found=found, expected=expected, remedy=remedy)
