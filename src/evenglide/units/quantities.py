"""Quantities as people type them ("18 min", "1,9 kg", "7 ft") in SI units.

A short table instead of a library of units: a study needs times, masses and lengths, and a spelling that
is not in the table is told to the person who typed it instead of being guessed.

Factors: SI Brochure, 9th edition (2019), table 8 for min and h; international yard and pound of 1959
for ft, in, lb and oz, exact, as in NIST Special Publication 811 (2008), appendix B.8.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Kind = Literal["time", "mass", "length"]

_FACTORS: Mapping[Kind, Mapping[str, Decimal]] = {
    "time": {"s": Decimal(1), "min": Decimal(60), "h": Decimal(3600)},
    "mass": {
        "kg": Decimal(1),
        "g": Decimal("0.001"),
        "lb": Decimal("0.45359237"),
        "oz": Decimal("0.028349523125"),
    },
    "length": {
        "m": Decimal(1),
        "cm": Decimal("0.01"),
        "mm": Decimal("0.001"),
        "km": Decimal(1000),
        "ft": Decimal("0.3048"),
        "in": Decimal("0.0254"),
    },
}
_WORDS = {
    **dict.fromkeys(("sec", "second", "seconds"), "s"),
    **dict.fromkeys(("minute", "minutes"), "min"),
    **dict.fromkeys(("hour", "hours"), "h"),
    **dict.fromkeys(("kilogram", "kilograms"), "kg"),
    **dict.fromkeys(("gram", "grams"), "g"),
    **dict.fromkeys(("lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("ounce", "ounces"), "oz"),
    **dict.fromkeys(("metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("kilometre", "kilometres", "kilometer", "kilometers"), "km"),
    **dict.fromkeys(("foot", "feet"), "ft"),
    **dict.fromkeys(("inch", "inches"), "in"),
}
_EXAMPLE: Mapping[Kind, str] = {"time": "18 min", "mass": "1.9 kg", "length": "0.25 m"}
_QUANTITY = re.compile(r"(?P<number>[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*(?P<unit>[^\W\d_]+)")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


@dataclass(frozen=True, slots=True)
class NotAQuantityError(ValueError):
    """A text that is no quantity of the kind asked for; `expected` says what would be."""

    expected: str


def read_quantity(text: str, kind: Kind) -> float:
    """Read a quantity and express it in the SI unit of its kind.

    Parameters
    ----------
    text : str
        A number with a decimal point or comma, and a unit.
    kind : {"time", "mass", "length"}

    Returns
    -------
    float
        [s], [kg] or [m]; the decimal number nearest to the exact product.

    Raises
    ------
    NotAQuantityError
        If it is no number with a unit of this kind, or could be read in two ways ("1,200 g").

    Examples
    --------
    >>> read_quantity("18 min", "time"), read_quantity("1,9 kg", "mass"), read_quantity("10 ft", "length")
    (1080.0, 1.9, 3.048)
    """
    match = _QUANTITY.fullmatch(text.strip())
    if match is None:
        raise NotAQuantityError(f'a number with its unit, such as "{_EXAMPLE[kind]}"')
    if _THOUSANDS.fullmatch(match["number"]):
        raise NotAQuantityError("a number that cannot be read in two ways: no comma before three digits")
    factor = _FACTORS[kind].get(_symbol(match["unit"]))
    if factor is None:
        known = ", ".join(_FACTORS[kind])
        raise NotAQuantityError(f'a {kind} in one of {known}, such as "{_EXAMPLE[kind]}"')
    return float(Decimal(match["number"].replace(",", ".")) * factor)


def length_factor(unit: str | None) -> Decimal | None:
    """Metres in one unit of length as somebody spelled it; None if it is none that is known here.

    Examples
    --------
    >>> length_factor("cm"), length_factor("furlong")
    (Decimal('0.01'), None)
    """
    return None if unit is None else _FACTORS["length"].get(_symbol(unit.strip()))


def write_quantity(value: float, unit: str) -> str:
    """Write a number with its unit so that reading it gives the same number back.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str

    Returns
    -------
    str

    Examples
    --------
    >>> write_quantity(18.0, "min"), write_quantity(0.25, "m")
    ('18 min', '0.25 m')
    """
    return f"{plain_number(value)} {unit}"


def plain_number(value: float) -> str:
    """Write the shortest decimal number that is read as the same value, without an exponent.

    Examples
    --------
    >>> plain_number(1e-07), plain_number(3.0)
    ('0.0000001', '3')
    """
    shown = format(Decimal(repr(value)), "f")
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _symbol(unit: str) -> str:
    return _WORDS.get(unit.casefold(), unit)
