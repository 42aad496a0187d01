r"""The difference that matters, as somebody typed it.

``N %`` is a ratio: a treatment and its reference are told apart by a factor of 1 + N/100 either
way, so on the natural logarithm the margin is :math:`\mp\ln(1 + N/100)`. A number, with or without
a unit, is a difference in the response's unit, the same either way.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from evenglide.errors import OptionError, Problem
from evenglide.show.typed import quoted
from evenglide.typing import Scale

LARGEST_PERCENT = 100.0
PERCENT_SIGNS = frozenset({"%", "percent", "per cent", "pct"})

_AMOUNT = re.compile(
    r"""(?P<sign>[+-]?)
        (?P<number> (?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+) (?:[eE][+-]?[0-9]+)? )
        \s* (?P<unit>['"]|[^\W\d_].*|[%°′″].*)?""",
    re.VERBOSE,
)
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_NUMBER_AGAIN = re.compile(r"\s[0-9]|[0-9][.,][0-9]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """The smallest difference that would matter.

    Parameters
    ----------
    scale : {"ratio", "difference"}
        Scale on which it was stated.
    low, high : float
        Its two ends on the analysis scale: natural logarithm of the ratio, or the response's unit.
    amount : float
        The number as stated, in percent or in the response's unit.
    unit : str or None
        Unit of the response where one was stated; None in percent.
    text : str
        As typed.
    """

    scale: Scale
    low: float
    high: float
    amount: float
    unit: str | None
    text: str


def parse_matters(matters: str | float) -> Margin:
    """Read the difference that matters.

    Parameters
    ----------
    matters : str or float
        ``"5 %"``, ``"2,5 %"``, ``"0.3 m"``, ``"0,3 m"`` or a number; any space may stand before the
        unit.

    Returns
    -------
    Margin

    Raises
    ------
    OptionError
        If it is no such text, not above nought, not finite, or above 100 %.

    Examples
    --------
    >>> parse_matters("0,3 m").high
    0.3
    >>> margin = parse_matters("5 %")
    >>> margin.scale, margin.high
    ('ratio', 0.0487901642)
    """
    text = str(matters).strip()
    amount, unit = _amount_and_unit(text)
    percent = unit is not None and " ".join(unit.casefold().split()) in PERCENT_SIGNS
    if not math.isfinite(amount) or amount <= 0:
        raise _refused(text, "a finite number above nought")
    if not percent:
        return Margin(scale="difference", low=-amount, high=amount, amount=amount, unit=unit, text=text)
    if amount > LARGEST_PERCENT:
        raise _refused(text, "at most 100 %")
    high = math.log1p(amount / 100.0)
    if high <= 0:
        raise _refused(text, "a percentage that a computer can tell from nought")
    return Margin(scale="ratio", low=-high, high=high, amount=amount, unit=None, text=text)


def _amount_and_unit(text: str) -> tuple[float, str | None]:
    """Split into number and unit; refuse what could be read in two ways."""
    match = _AMOUNT.fullmatch(text)
    if match is None:
        raise _refused(
            text, 'a number, a number with its unit such as "0.3 m", or a percentage such as "5 %"'
        )
    unit = match["unit"].strip() if match["unit"] else None
    if unit is not None and (_NUMBER_AGAIN.search(unit) or (unit[0] == "%" and unit != "%")):
        raise _refused(text, "one number with one unit")
    if _THOUSANDS.fullmatch(match["number"]) and unit != "%":
        raise _refused(text, "a number that cannot be read in two ways: without a comma before three digits")
    return float(match["sign"] + match["number"].replace(",", ".")), unit


def _refused(text: str, expected: str) -> OptionError:
    return OptionError(
        [
            Problem(
                code="bad-margin",
                where="--matters",
                found=quoted(text),
                expected=expected,
                remedy="Say the smallest difference that would matter, "
                'such as --matters "5 %" or --matters "0.3 m".',
            )
        ]
    )
