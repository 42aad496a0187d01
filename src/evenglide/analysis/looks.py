"""A log judged look by look: which looks are in, what each says, who stopped, what holds now."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from evenglide.analysis.case import SurfaceCase, surface_case
from evenglide.analysis.claims import LookBounds, claims_of, family_of
from evenglide.analysis.estimates import NO_CONTRAST, Estimate
from evenglide.analysis.look_plan import LookPlan
from evenglide.analysis.rule import Rule
from evenglide.maths.looks import LookTable
from evenglide.maths.stopping import NEVER, Stopping, stop_when_settled
from evenglide.readings.launches import Launches
from evenglide.readings.subset import launches_in_rows
from evenglide.typing import FloatArray

Codes = tuple[int, int]
"""Codes of a surface and a treatment."""
Tables = tuple[LookTable, LookTable]
"""Bounds of a comparison: one-sided, two-sided."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """All comparisons at one look.

    Parameters
    ----------
    launches : frozenset of int
        Numbers of the launches that it rests on.
    preparations, shares : mapping of int to int, float
        By code of the surface: planned preparations it rests on, and their share of all.
    cases : mapping of int to SurfaceCase
        By code of the surface.
    estimates : mapping of (int, int) to Estimate
    bounds : mapping of (int, int) to LookBounds
    p : mapping of (int, int) to array of float, shape (3,)
        Repeated p values of this look's data. [1]
    """

    launches: frozenset[int]
    preparations: Mapping[int, int]
    shares: Mapping[int, float]
    cases: Mapping[int, SurfaceCase]
    estimates: Mapping[Codes, Estimate]
    bounds: Mapping[Codes, LookBounds]
    p: Mapping[Codes, FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedLooks:
    """What a log says look by look.

    Parameters
    ----------
    plan : LookPlan
    level : float
    looks : tuple of Look
        Those that are in; not empty.
    early : bool
        The last of them was not planned: it takes what there is as the end.
    settled : mapping of (int, int) to int
        Look, from 0, at which a comparison stopped; -1 if it did not.
    p : mapping of (int, int) to array of float, shape (3,)
        p values in force. [1]
    launches : Launches
        What holds now: of each surface the launches up to the look at which it stopped, else up to the last.
    """

    plan: LookPlan
    level: float
    looks: tuple[Look, ...]
    early: bool
    settled: Mapping[Codes, int]
    p: Mapping[Codes, FloatArray]
    launches: Launches

    @property
    def at_end(self) -> bool:
        """Whether there is no look to come."""
        return self.early or len(self.looks) == self.plan.number

    def in_force(self, key: Codes) -> Look:
        """Return the look that a comparison is judged by."""
        settled = self.settled[key]
        return self.looks[-1] if settled == NEVER else self.looks[settled]

    def case(self, key: Codes, otherwise: SurfaceCase) -> SurfaceCase:
        """Return the surface as it was at the look that a comparison is judged by."""
        return self.in_force(key).cases.get(key[0], otherwise)

    def stopped(self, surface: int) -> bool:
        """Whether every comparison on a surface stopped, so that it needs no more launches."""
        return all(look != NEVER for key, look in self.settled.items() if key[0] == surface)


class _Walk:
    """Goes through the looks of one log."""

    def __init__(self, plan: LookPlan, launches: Launches, rule: Rule) -> None:
        self.plan, self.launches, self.rule = plan, launches, rule
        self.names = launches.surface.labels
        self.keys = list(product(range(len(self.names)), range(1, len(launches.treatment.labels))))
        self.looks: list[Look] = []
        self.found: Stopping | None = None

    def settled(self) -> dict[Codes, int]:
        """Look at which each comparison stopped."""
        if self.found is None:
            return dict.fromkeys(self.keys, NEVER)
        return dict(zip(self.keys, self.found.settled[:, 0].tolist(), strict=True))

    def open_surfaces(self) -> list[int]:
        """Codes of the surfaces that have not stopped."""
        settled = self.settled()
        return [
            code
            for code in range(len(self.names))
            if any(settled[key] == NEVER for key in self.keys if key[0] == code)
        ]

    def all_settled(self) -> bool:
        """Whether every question of the plan is settled, so that no further look is needed."""
        return set(self.plan.surfaces) <= set(self.names) and not self.open_surfaces()

    def cut(self, at: int) -> frozenset[int]:
        """Launches of all surfaces up to a planned look."""
        return frozenset().union(*(one.launches[at] for one in self.plan.surfaces.values()))

    def waits(self, at: int, waiting: Collection[int]) -> bool:
        """Whether a planned look still waits for launches, those on stopped surfaces left out."""
        stopped = {self.names[code] for code in range(len(self.names))}
        stopped -= {self.names[code] for code in self.open_surfaces()}
        needed = (one.launches[at] for name, one in self.plan.surfaces.items() if name not in stopped)
        return any(not numbers.isdisjoint(waiting) for numbers in needed)

    def take(self, at: int) -> None:
        """Judge a planned look."""
        planned = {code: self.plan.surfaces[name] for code, name in enumerate(self.names)}
        self._add(
            self.cut(at),
            preparations={code: one.preparations[at] for code, one in planned.items()},
            shares={code: one.fractions[at] for code, one in planned.items()},
            tables={key: self.plan.tables(self._named(key)) for key in self.keys},
        )

    def take_all(self) -> None:
        """Judge all there is as the end."""
        reached, everything = len(self.looks), frozenset(self.launches.row.tolist())
        met = {code: self._met(code) for code in range(len(self.names))}
        cases = _cases(self.launches, everything, self.rule)
        tables = {}
        for key in self.keys:
            found = cases[key[0]].test.contrast(key[1]) if key[0] in cases else NO_CONTRAST
            df = found.df or 0.0
            share = met[key[0]] / self.plan.surfaces[self.names[key[0]]].preparations[-1]
            tables[key] = self.plan.tables_ended(self._named(key), reached, df=df, share=share)
        shares = {
            code: count / self.plan.surfaces[self.names[code]].preparations[-1] for code, count in met.items()
        }
        self._add(everything, preparations=met, shares=shares, tables=tables)

    def is_more(self) -> bool:
        """Whether a surface that has not stopped holds launches beyond the last look."""
        if not self.looks:
            return True
        beyond = ~np.isin(self.launches.row, list(self.looks[-1].launches))
        return bool((beyond & np.isin(self.launches.surface.codes, self.open_surfaces())).any())

    def _met(self, code: int) -> int:
        rows = self.launches.surface.codes == code
        return len(np.unique(self.launches.preparation.codes[rows]))

    def _named(self, key: Codes) -> tuple[str, str]:
        return self.names[key[0]], self.launches.treatment.labels[key[1]]

    def _add(
        self,
        numbers: frozenset[int],
        *,
        preparations: Mapping[int, int],
        shares: Mapping[int, float],
        tables: Mapping[Codes, Tables],
    ) -> None:
        """Add a look and see who stops at it."""
        cases = _cases(self.launches, numbers, self.rule)
        estimates = {
            key: cases[key[0]].test.contrast(key[1]) if key[0] in cases else NO_CONTRAST for key in self.keys
        }
        bounds = {
            key: LookBounds(one_sided=one, two_sided=two, look=len(self.looks))
            for key, (one, two) in tables.items()
        }
        p = {
            key: bounds[key].repeated(claims_of(found, self.rule.margin_on(key[0])).as_array())
            for key, found in estimates.items()
        }
        self.looks.append(
            Look(
                launches=numbers,
                preparations=preparations,
                shares=shares,
                cases=cases,
                estimates=estimates,
                bounds=bounds,
                p=p,
            )
        )
        stacked = np.array([[look.p[key] for key in self.keys] for look in self.looks])
        self.found = stop_when_settled(
            stacked.transpose(0, 2, 1)[..., np.newaxis], adjust=self._adjusted, level=self.rule.level
        )

    def _adjusted(self, p: FloatArray) -> FloatArray:
        return family_of(self.keys, p, self.rule).adjusted()[:, : len(self.keys)]

    def judged(self, *, early: bool) -> JudgedLooks | None:
        """Say what holds now; None where no look is in."""
        if self.found is None:
            return None
        settled, last = self.settled(), len(self.looks) - 1
        p = dict(zip(self.keys, self.found.p[-1, :, :, 0].T, strict=True))
        rows: set[int] = set()
        for code in range(len(self.names)):
            latest = max(last if settled[key] == NEVER else settled[key] for key in self._of(code))
            of_surface = self.launches.row[self.launches.surface.codes == code].tolist()
            rows |= self.looks[latest].launches & set(of_surface)
        return JudgedLooks(
            plan=self.plan,
            level=self.rule.level,
            looks=tuple(self.looks),
            early=early,
            settled=settled,
            p=p,
            launches=launches_in_rows(self.launches, rows),
        )

    def _of(self, code: int) -> list[Codes]:
        return [key for key in self.keys if key[0] == code]


def judge_looks(
    plan: LookPlan, launches: Launches, rule: Rule, *, waiting: Collection[int], early: bool = False
) -> JudgedLooks | None:
    """Judge a log by all looks that are in.

    Parameters
    ----------
    plan : LookPlan
    launches : Launches
        All that were made and read; `row` holds launch numbers.
    rule : Rule
    waiting : collection of int
        Numbers of planned launches that were not made or not read yet.
    early : bool, optional
        Take what there is as the end, if more was read since the last look that is in.

    Returns
    -------
    JudgedLooks or None
        None where no look is in.
    """
    walk = _Walk(plan, launches, rule)
    for at in range(plan.number):
        if walk.waits(at, waiting) or walk.all_settled():
            break
        walk.take(at)
    ended = early and len(walk.looks) < plan.number and not walk.all_settled() and walk.is_more()
    if ended:
        walk.take_all()
    return walk.judged(early=ended)


def _cases(launches: Launches, numbers: Collection[int], rule: Rule) -> dict[int, SurfaceCase]:
    """Make every surface ready that has a valid launch."""
    held = launches_in_rows(launches, numbers)
    met = np.unique(held.surface.codes[~held.void]).tolist()
    return {code: surface_case(held, code, scale=rule.scale) for code in met}
