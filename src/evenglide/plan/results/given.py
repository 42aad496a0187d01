"""What an offer rests on: scatter, outings, surfaces, and what is assumed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterUsed:
    """The scatter that the chances rest on.

    Parameters
    ----------
    source : {"stated", "unknown", "pilot", "rig"}
        Where it comes from; "unknown" is a wide range of what is usual.
    file : str or None
        The table it was read from.
    preparations, launches : float
        SD between preparations of one treatment, and between launches of one preparation, on the analysis
        scale; the middle of the range where it is unknown.
    worth : float or None
        Degrees of freedom that the scatter between preparations is worth; None where it is taken as exact.
    low, high : float or None
        Range that holds the SD between preparations in four of five cases; None where it is taken as exact.
    below_nought : bool
        A pilot gave less scatter than its launches alone would; nought is reckoned with.
    assumed : tuple of str
        Codes of parts that nobody stated: ``"preparations"``, ``"launches"``, ``"worth"``.
    """

    source: Literal["stated", "unknown", "pilot", "rig"]
    file: str | None
    preparations: float
    launches: float
    worth: float | None
    low: float | None
    high: float | None
    below_nought: bool
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredTime:
    """A time that was measured in a log and stands in place of a stated or a usual one.

    Parameters
    ----------
    code : str
        ``"hands_on"``, ``"launch"`` or ``"rig_set_up"``.
    whose : str
        Treatment or surface, or "".
    seconds : float
        Mean. [s]
    count : int
        Of how many.
    """

    code: str
    whose: str
    seconds: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """Something the study does not say, and what is taken instead: common practice, no source.

    Parameters
    ----------
    code : str
        ``"hands_on"``, ``"minutes_per_launch"``, ``"rig_set_up"``, ``"outings"``, ``"voids"``, ...
    whose : str
        Treatment or surface, or "".
    value : float
        [s] for work, [min] for launches and outings, [1] for shares.
    """

    code: str
    whose: str
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedOuting:
    """A day or half-day outside.

    Parameters
    ----------
    number : int
        From 1, as in the study.
    day, start, end : str or None
        As stated; None where the study names no outings and one of usual length is assumed.
    minutes : float
        Length of its window. [min]
    surfaces : tuple of str
        Surfaces that can be met.
    """

    number: int
    day: str | None
    start: str | None
    end: str | None
    minutes: float
    surfaces: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedSurface:
    """A surface with what the question there is.

    Parameters
    ----------
    name : str
    margin : tuple of float
        What does not matter, on the analysis scale.
    family : int
        Comparisons that share the level with each one there.
    main : bool
    """

    name: str
    margin: tuple[float, float]
    family: int
    main: bool
