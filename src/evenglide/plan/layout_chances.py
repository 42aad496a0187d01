"""The chances of a layout, as `plan.chances` works them out."""

from __future__ import annotations

from dataclasses import dataclass

Chances = tuple[float, ...]
"""One for each true effect that was asked about. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContrastChances:
    """Chances of one treatment against the reference on one surface, with the error rate shared.

    Parameters
    ----------
    surface : str
    treatment : int
        1 for the first beside the reference.
    rounds : int
        Rounds that hold both there.
    df : int
        Degrees of freedom of the test, nothing set aside; 0 where no test is possible.
    se : float
        Standard error of the estimate at the scatter believed in, nothing set aside; infinite without rounds.
    width : float or None
        Expected full width of the interval on the first screen where nothing is claimed (every comparison
        of the family shares the level), averaged over what the scatter may be; None where it has no
        finite mean.
    differs : tuple of float
        Chance to claim a difference.
    alike, matters : tuple of float or None
        Chance to claim "no difference that matters", and a difference that matters; None without a margin.
    conclusive : tuple of float or None
        Chance of either verdict, a difference or alike; None where it was not asked for.
    """

    surface: str
    treatment: int
    rounds: int
    df: int
    se: float
    width: float | None
    differs: Chances
    alike: Chances | None
    matters: Chances | None
    conclusive: Chances | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SharingCase:
    """Chances of a layout for one share of scatter that a preparation carries to every surface.

    Parameters
    ----------
    shared_part : float or None
        None where preparations are fresh on each surface. [1]
    contrasts : tuple of ContrastChances
        Surface by surface, treatment by treatment.
    all_differ, any_differs : tuple of float
        Chance to claim a difference in all comparisons, in any.
    all_alike : tuple of float or None
        Chance to claim "no difference that matters" in all; None where a surface has no margin.
    all_conclusive, any_conclusive : tuple of float or None
        Chance of a verdict in all comparisons, in any; None where it was not asked for.
    main_conclusive : tuple of float or None
        The same in all comparisons on the main surface; None without one.
    error : float
        Largest Monte Carlo standard error of these chances; 0 where they are exact. [1]
    """

    shared_part: float | None
    contrasts: tuple[ContrastChances, ...]
    all_differ: Chances
    any_differs: Chances
    all_alike: Chances | None
    all_conclusive: Chances | None
    any_conclusive: Chances | None
    main_conclusive: Chances | None
    error: float

    def of(self, surface: str, treatment: int = 1) -> ContrastChances:
        """Return one comparison.

        Raises
        ------
        KeyError
            If there is none.
        """
        for one in self.contrasts:
            if (one.surface, one.treatment) == (surface, treatment):
                return one
        raise KeyError((surface, treatment))


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutChances:
    """What a layout can find.

    Parameters
    ----------
    effects : tuple of float
        True effects, the same in every comparison: multiples of the margin, or on the analysis scale if so
        asked.
    cases : tuple of SharingCase
        One; several where preparations are shared and it is not known how much they carry along.
    """

    effects: Chances
    cases: tuple[SharingCase, ...]

    @property
    def cautious(self) -> SharingCase:
        """The case with the least chance to have everything settled, over both truths."""
        return min(self.cases, key=_settled)


def _settled(case: SharingCase) -> float:
    alike = case.all_alike[0] if case.all_alike else 1.0
    return min(alike, case.all_differ[-1])
