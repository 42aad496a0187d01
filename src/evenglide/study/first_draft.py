"""The first draft of a study, from a rider's answers to a few questions."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from evenglide.errors import OptionError, Problem
from evenglide.show.typed import did_you_mean, listing, quoted
from evenglide.study.margin import Margin, parse_matters
from evenglide.study.starting_sets import STARTING_SETS, SetName
from evenglide.study.study import Design, Item, Rig, Study, Surface, Treatment

MARGIN_DIGITS = 3
"""Nobody cares to more digits than this where a run stops."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What somebody said about a new study.

    Parameters
    ----------
    ground : {"shore", "snow", "rink", "turf"}
        Starting set.
    treatments : tuple of str
        What is compared with the reference.
    reference : str
    title : str or None
        Default: a question made of the treatments.
    gear : str or None
        What one piece of gear is called; default: the set's word.
    items : tuple of str
        Names of the pieces; default: two, numbered.
    surfaces : tuple of str
        Some of the set's surfaces, or others that are run out; default: all of the set.
    matters : str or None
        Difference that matters, as typed.
    stops : tuple of float, or None
        Two stopping points, the nearest at which somebody would care. [m]
    main : str or None
        Surface that the argument is about.
    hidden_from : tuple of str
        Who must not know which treatment is which.
    paid_by : str
        Who pays for it.
    rig : str
        Kind of launcher.
    """

    ground: SetName
    treatments: tuple[str, ...]
    reference: str = "bare"
    title: str | None = None
    gear: str | None = None
    items: tuple[str, ...] = ()
    surfaces: tuple[str, ...] = ()
    matters: str | None = None
    stops: tuple[float, float] | None = None
    main: str | None = None
    hidden_from: tuple[str, ...] = ()
    paid_by: str = ""
    rig: str = "hand"


def first_draft(answers: Answers) -> Study:
    """Make a study of the answers and of what the starting set brings along.

    Parameters
    ----------
    answers : Answers

    Returns
    -------
    Study

    Raises
    ------
    OptionError
        If answers contradict each other.
    """
    start = STARTING_SETS[answers.ground]
    gear = answers.gear or start.item_word
    items = answers.items or (f"{gear} 1", f"{gear} 2")
    margin = _margin(answers)
    surfaces = _surfaces(answers)
    _check_main(answers.main, surfaces)
    scale = margin.scale if margin else "ratio"
    return Study(
        title=answers.title or _title(answers, gear),
        unit=(margin.unit if margin else None) or "m",
        scale=scale,
        margin=(margin.low, margin.high) if margin else None,
        main=answers.main,
        treatments=(
            Treatment(name=answers.reference, reference=True),
            *(Treatment(name=name) for name in answers.treatments),
        ),
        items=tuple(Item(name=name) for name in items),
        item_word=gear,
        surfaces=surfaces,
        design=Design(layout="in sequence" if len(items) == 1 else "in parallel"),
        rig=Rig(kind=answers.rig, base_touches_while_pushing=answers.rig == "ramp"),
        void_reasons=start.void_reasons,
        hidden_from=answers.hidden_from,
        paid_by=answers.paid_by,
    )


def percent_between(first: float, second: float) -> str:
    """Difference between two stopping points in percent of the nearer one, to three digits.

    Parameters
    ----------
    first, second : float
        [m]

    Returns
    -------
    str

    Raises
    ------
    OptionError
        If they are not two different distances above nought.

    Examples
    --------
    >>> percent_between(6.0, 6.3), percent_between(6.3, 6.0)
    ('5 %', '5 %')
    """
    near, far = sorted((first, second))
    if not (math.isfinite(far) and 0 < near < far):
        raise _refused("--stops", f"{first:g} and {second:g}", "two different distances above nought")
    return f"{float(f'{100 * (far / near - 1):.{MARGIN_DIGITS}g}'):g} %"


def _margin(answers: Answers) -> Margin | None:
    if answers.stops is None:
        return None if answers.matters is None else parse_matters(answers.matters)
    if answers.matters is not None:
        found = f"--stops and --matters {quoted(answers.matters)}"
        raise _refused("--stops", found, "one of the two")
    return parse_matters(percent_between(*answers.stops))


def _surfaces(answers: Answers) -> tuple[Surface, ...]:
    """Surfaces asked for; rules about ones that are not met are left out."""
    known = {surface.name: surface for surface in STARTING_SETS[answers.ground].surfaces}
    names = answers.surfaces or tuple(known)
    chosen = [known.get(name, Surface(name=name)) for name in names]
    return tuple(
        replace(one, not_after=tuple(other for other in one.not_after if other in names)) for one in chosen
    )


def _check_main(main: str | None, surfaces: tuple[Surface, ...]) -> None:
    names = [surface.name for surface in surfaces]
    if main is not None and main not in names:
        remedy = did_you_mean(main, names, otherwise="Name one of these.")
        raise _refused("--main", quoted(main), f"one of the surfaces {listing(names)}", remedy)


def _title(answers: Answers, gear: str) -> str:
    verb = "Does" if len(answers.treatments) == 1 else "Do"
    what = ", ".join(answers.treatments[:-1])
    what = f"{what} or {answers.treatments[-1]}" if what else "".join(answers.treatments)
    return f"{verb} {what} make a {gear} go farther than {answers.reference}?"


def _refused(where: str, *told: str) -> OptionError:
    found, expected, *rest = told
    remedy = rest[0] if rest else 'Say it as two distances in metres, or as --matters "5 %".'
    return OptionError(
        [Problem(code="bad-answer", where=where, found=found, expected=expected, remedy=remedy)]
    )
