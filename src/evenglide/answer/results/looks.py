"""What is said about the half-way checks of one comparison."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class OneLook:
    """One comparison at one look.

    Parameters
    ----------
    preparations : int
        Planned preparations on the surface that it rests on.
    share : float
        Of all that are planned there.
    planned : bool
        False for a look that takes what there is as the end.
    estimate, se, df : float or None
        Of this look's launches alone.
    bound_difference, bound_alike, bound_matters : float or None
        What t had to reach for each claim, for this comparison alone; None without degrees of freedom.
    p_difference, p_alike, p_matters : float or None
        Repeated p values.
    """

    preparations: int
    share: float
    planned: bool
    estimate: float | None
    se: float | None
    df: float | None
    bound_difference: float | None
    bound_alike: float | None
    bound_matters: float | None
    p_difference: float | None
    p_alike: float | None
    p_matters: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """The looks at one comparison, those made so far one by one.

    Parameters
    ----------
    planned : tuple of float
        Share of the preparations at each planned look, the end included.
    preparations : int
        Planned on the surface.
    reached : int
        Looks that are in.
    stopped_at : int or None
        Look, from 1, at which the question was settled.
    ended_early : bool
        The last look takes what there is as the end.
    at : tuple of OneLook
        The looks that are in.
    """

    planned: tuple[float, ...]
    preparations: int
    reached: int
    stopped_at: int | None
    ended_early: bool
    at: tuple[OneLook, ...]
