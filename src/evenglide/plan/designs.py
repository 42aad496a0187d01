"""What a layout is to whoever works out its chances: rounds, launches, margins, and how claims are shared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from evenglide.errors import Problem, StudyError
from evenglide.typing import Adjust

SYMMETRY = 1e-9
"""The two ends of a margin may differ by this share of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceDesign:
    """One surface of a layout.

    Parameters
    ----------
    surface : str
    rounds : tuple of int
        Numbers of the rounds that meet it, from 0, of those of the layout.
    launches : int
        Launches of each preparation there, all directions together.
    margin : tuple of float, or None
        What does not matter, on the analysis scale, as far below nought as above; None if not stated.
    items : int
        Columns that pieces of gear take in the test: pieces less one where they differ inside rounds,
        else 0.
    """

    surface: str
    rounds: tuple[int, ...]
    launches: int
    margin: tuple[float, float] | None
    items: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutDesign:
    """A layout as the test will see it.

    Parameters
    ----------
    surfaces : tuple of SurfaceDesign
    rounds : int
    treatments : int
        With the reference.
    shared : bool
        One preparation serves every surface of its round.
    level : float
        Error rate for each kind of claim over a family. [1]
    adjust : {"holm", "both", "none"}
    main : str or None
        Surface that is a family of its own.
    pairs : bool
        Rounds hold the reference and one other treatment, in turn; else every treatment.
    """

    surfaces: tuple[SurfaceDesign, ...]
    rounds: int
    treatments: int = 2
    shared: bool = False
    level: float = 0.05
    adjust: Adjust = "holm"
    main: str | None = None
    pairs: bool = False

    @property
    def contrasts(self) -> int:
        """Treatments held against the reference on each surface."""
        return self.treatments - 1

    @property
    def families(self) -> tuple[int, ...]:
        """Family of each surface: 1 for the main one, 0 for the others."""
        return tuple(int(one.surface == self.main) for one in self.surfaces)

    def family_size(self, surface: int) -> int:
        """Comparisons that share the level with one on a surface, given its place."""
        if self.adjust == "none":
            return 1
        families = self.families
        return self.contrasts * families.count(families[surface])


def renumbered(layout: LayoutDesign) -> LayoutDesign:
    """Return the layout with its rounds in a settled order: by the surfaces that they meet.

    Layouts that differ only in when their rounds take place become the same. Rounds that meet nothing go.

    Parameters
    ----------
    layout : LayoutDesign

    Returns
    -------
    LayoutDesign
        As it is where rounds hold treatments in turn, since their numbers say which.
    """
    if layout.pairs and layout.contrasts > 1:
        return layout
    met = [tuple(at not in one.rounds for one in layout.surfaces) for at in range(layout.rounds)]
    order = sorted((at for at in range(layout.rounds) if not all(met[at])), key=lambda at: met[at])
    place = {old: new for new, old in enumerate(order)}
    surfaces = tuple(
        replace(one, rounds=tuple(sorted(place[at] for at in one.rounds))) for one in layout.surfaces
    )
    return replace(layout, surfaces=surfaces, rounds=len(order))


def check_designs(layouts: Sequence[LayoutDesign]) -> None:
    """Refuse layouts that are none.

    Parameters
    ----------
    layouts : sequence of LayoutDesign

    Raises
    ------
    StudyError
        With everything that is wrong in any of them, each problem once.
    """
    problems: dict[tuple[str, str, str], Problem] = {}
    for layout in layouts:
        for found in _problems(layout):
            problems.setdefault((found.code, found.where, found.found), found)
    if problems:
        raise StudyError(problems.values())


def _problems(layout: LayoutDesign) -> list[Problem]:
    problems = []
    if not layout.surfaces:
        problems.append(_problem("too-few", "surface", "none", "at least one surface", "Add a surface."))
    if layout.treatments < 2:
        count = str(layout.treatments)
        problems.append(
            _problem("bad-count", "treatment", count, "two treatments or more", "Add a treatment.")
        )
    if not 0 < layout.level < 0.5:
        level = f"{layout.level:g}"
        problems.append(_problem("out-of-range", "study.level", level, "above 0 and below 0.5", "Take 0.05."))
    for one in layout.surfaces:
        problems += _surface_problems(one, layout.rounds)
    return problems


def _surface_problems(one: SurfaceDesign, rounds: int) -> list[Problem]:
    problems, where = [], f"surface {one.surface}" if one.surface else "surface"
    if one.launches < 1:
        found = f"{one.launches} launches for each preparation"
        problems.append(_problem("bad-count", where, found, "one or more", "Launch each at least once."))
    if any(not 0 <= at < rounds for at in one.rounds) or len(set(one.rounds)) < len(one.rounds):
        found = f"rounds {list(one.rounds)} of {rounds}"
        problems.append(
            _problem("bad-count", where, found, "numbers of rounds, each once", "Count rounds from 0.")
        )
    if one.margin is not None and not _even(one.margin):
        found = f"a margin from {one.margin[0]:g} to {one.margin[1]:g}"
        expected = "as far below nought as above on the analysis scale"
        remedy = "State one difference that matters, in either direction."
        problems.append(_problem("uneven-margin", where, found, expected, remedy))
    return problems


def _even(margin: tuple[float, float]) -> bool:
    low, high = margin
    return high > 0 and abs(low + high) <= SYMMETRY * high


def _problem(code: str, *told: str) -> Problem:
    where, found, expected, remedy = told
    return Problem(code=code, where=where, found=found, expected=expected, remedy=remedy)
