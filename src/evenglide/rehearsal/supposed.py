"""What is supposed to be true in a rehearsal: the effect of a treatment on each surface.

Every treatment that is not the reference has the same effect, as if each of them were the one that works.
Effects stand on the analysis scale: natural logarithm of the ratio, or the response's unit.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from evenglide.errors import OptionError, Problem
from evenglide.readings.from_log import in_unit
from evenglide.show.typed import quoted
from evenglide.study.study import Study

STANDING = ("none", "half", "margin", "twice")
"""Truths that are named by the difference that matters."""
SHARES = {"none": 0.0, "half": 0.5, "margin": 1.0, "twice": 2.0}
TOLD = {
    "none": "no effect",
    "half": "half of what matters",
    "margin": "exactly what matters",
    "twice": "twice what matters",
}
MOST_PERCENT = 400.0
_AMOUNT = re.compile(r"(?P<number>[+-]?[0-9]+(?:[.,][0-9]+)?)\s*(?P<unit>%|[^\W\d_]+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """An effect that is supposed to be true.

    Parameters
    ----------
    name : str
        One of `STANDING`, or as somebody stated it.
    told : str
        In words.
    effects : mapping of str to float
        By surface, analysis scale.
    """

    name: str
    told: str
    effects: Mapping[str, float]


def margins_of(study: Study) -> dict[str, tuple[float, float] | None]:
    """What does not matter on each surface, analysis scale.

    Parameters
    ----------
    study : Study

    Returns
    -------
    dict of str to (float, float) or None
    """
    return {surface.name: surface.margin or study.margin for surface in study.surfaces}


def standing_truths(study: Study, names: Sequence[str] = STANDING) -> tuple[Truth, ...]:
    """Truths that follow from the difference that matters; only "none" where no surface has one.

    Parameters
    ----------
    study : Study
    names : sequence of str, optional
        Of `STANDING`.

    Returns
    -------
    tuple of Truth
        A surface without a difference that matters has no effect in any of them.
    """
    margins = margins_of(study)
    known = any(margin is not None for margin in margins.values())
    return tuple(
        Truth(
            name=name,
            told=TOLD[name],
            effects={
                surface: 0.0 if margin is None else SHARES[name] * margin[1]
                for surface, margin in margins.items()
            },
        )
        for name in names
        if known or name == "none"
    )


def stated_truths(study: Study, texts: Sequence[str]) -> tuple[Truth, ...]:
    """Read truths as somebody typed them.

    Parameters
    ----------
    study : Study
    texts : sequence of str
        Each ``"none"``, ``"half"``, ``"margin"``, ``"twice"``; an amount such as ``"8 %"`` or ``"-0.2 m"``,
        for every surface; or amounts by surface such as ``"ice = 8 %; powder = 0 %"``. A surface that such a
        text does not name has no effect.

    Returns
    -------
    tuple of Truth

    Raises
    ------
    OptionError
        With everything that is no such text, names no surface of the study, or is of the other kind than the
        study's own amounts.
    """
    problems: list[Problem] = []
    found: list[Truth] = []
    for text in dict.fromkeys(text.strip() for text in texts):
        if text in STANDING:
            standing = standing_truths(study, [text])
            found += standing
            problems += [] if standing else [_without_margin(text)]
            continue
        effects = _effects(study, text, problems)
        found.append(
            Truth(name=text, told=text if "=" in text else f"{text} on every surface", effects=effects)
        )
    if problems:
        raise OptionError(problems)
    return tuple(found)


def _effects(study: Study, text: str, problems: list[Problem]) -> dict[str, float]:
    """Effect on each surface of one text; what is wrong with it goes to `problems`."""
    names = [surface.name for surface in study.surfaces]
    if "=" not in text:
        return dict.fromkeys(names, _amount(study, text, problems))
    effects = dict.fromkeys(names, 0.0)
    for part in text.split(";"):
        surface, _, amount = (piece.strip() for piece in part.partition("="))
        if surface not in effects:
            problems.append(
                _problem(
                    "no-such-surface",
                    quoted(surface),
                    f"one of {', '.join(names)}",
                    remedy='Say it such as --truth "SURFACE = 8 %".',
                )
            )
            continue
        effects[surface] = _amount(study, amount, problems)
    return effects


def _amount(study: Study, text: str, problems: list[Problem]) -> float:
    """Read one amount on the study's analysis scale."""
    match = _AMOUNT.fullmatch(text.strip())
    if match is None:
        problems.append(_bad(text, "an amount such as 8 % or 0.2 m, or none, half, margin, twice"))
        return 0.0
    number, unit = float(match["number"].replace(",", ".")), match["unit"]
    if study.scale == "ratio":
        if unit != "%" or not -100.0 < number <= MOST_PERCENT:
            problems.append(_bad(text, f"a percentage between -100 and {MOST_PERCENT:.0f} %, as the study's"))
            return 0.0
        return math.log1p(number / 100.0)
    amount = None if unit == "%" else in_unit(number, unit, study.unit)
    if amount is None:
        problems.append(
            _bad(text, f"an amount in {study.unit or 'the unit of the readings'}, as the study's")
        )
        return 0.0
    return amount


def _bad(text: str, expected: str) -> Problem:
    return _problem(
        "bad-truth", quoted(text), expected, remedy='Say it such as --truth "8 %" or --truth margin.'
    )


def _without_margin(text: str) -> Problem:
    return _problem(
        "bad-truth",
        quoted(text),
        "a difference that matters in the study, or an amount",
        remedy='State `matters` in study.toml, or say --truth "8 %".',
    )


def _problem(code: str, found: str, expected: str, *, remedy: str) -> Problem:
    return Problem(code=code, where="--truth", found=found, expected=expected, remedy=remedy)
