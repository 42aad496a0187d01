"""How a study was carried out: departures from the seal, what was set aside, and likely objections."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from evenglide.show.departures import Departure
from evenglide.typing import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAsideCount:
    """Launches set aside for one cause.

    Parameters
    ----------
    cause : str
    treatments : mapping of str to int
        Launches set aside by treatment, all treatments of the study.
    value_seen : int
        Of them, launches whose distance was known when that was decided.
    listed : bool
        The cause stands in the sealed list.
    value_unsaid : int
        Of them, launches of which it is not clear whether the distance was known.
    """

    cause: str
    treatments: Mapping[str, int]
    value_seen: int
    listed: bool
    value_unsaid: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionRange:
    """What was noted of the surroundings: smallest and largest value, and words."""

    name: str
    unit: str | None
    least: float | None
    most: float | None
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """Change per launch since preparation on one surface.

    Parameters
    ----------
    surface : str
    per_launch : float or None
        Analysis scale; None without an order or with one launch each.
    checks : int
        Wear-check launches read there.
    se, df : float or None
        Standard error of `per_launch` and its degrees of freedom, counted in launches.
    interval : (float, float) or None
        Of confidence 1 - level.
    """

    surface: str
    per_launch: float | None
    checks: int
    se: float | None
    df: float | None
    interval: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Guesses:
    """What people who were not told took preparations for."""

    right: int
    wrong: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Objection:
    """A likely objection and what the data say to it.

    Parameters
    ----------
    code, objection, reply : str
    checked : bool
        False where the study gathered nothing that speaks to it.
    """

    code: str
    objection: str
    reply: str
    checked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Conduct:
    """How a sealed study was carried out.

    Parameters
    ----------
    departures : tuple of Departure
    set_aside : tuple of SetAsideCount
    left_out : mapping of str to tuple of int
        Launch numbers that do not enter, by reason.
    conditions : tuple of ConditionRange
    wear : tuple of Wear
    guesses : Guesses or None
        None where nobody guessed.
    objections : tuple of Objection
    questions : int
        Odd entries of the log that a person should look at.
    places, skies : tuple of str
        Words for the place, and for sky and wind, as outings began.
    """

    departures: tuple[Departure, ...]
    set_aside: tuple[SetAsideCount, ...]
    left_out: Mapping[str, tuple[int, ...]]
    conditions: tuple[ConditionRange, ...]
    wear: tuple[Wear, ...]
    guesses: Guesses | None
    objections: tuple[Objection, ...]
    questions: int
    places: tuple[str, ...] = ()
    skies: tuple[str, ...] = ()
