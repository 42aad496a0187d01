"""Which spellings of a unit mean a length, so that pages can say farther and shorter."""

from __future__ import annotations

SYMBOLS = frozenset({"m", "km", "dm", "cm", "mm", "µm", "μm", "ft", "in", "yd", "mi", "'", '"', "′", "″"})
"""Symbols keep their case: M and Mm are not metres. SI symbols from the SI Brochure, 9th edition (2019);
µm in both of its code points; customary symbols and prime marks as tape measures print them (common
practice, no source)."""

WORDS = frozenset(
    {
        *("metre", "metres", "meter", "meters"),
        *("kilometre", "kilometres", "kilometer", "kilometers"),
        *("centimetre", "centimetres", "centimeter", "centimeters"),
        *("millimetre", "millimetres", "millimeter", "millimeters"),
        *("foot", "feet", "inch", "inches", "yard", "yards", "mile", "miles"),
    }
)
"""Words in any case, British and American spelling, since both stand in column heads."""


def is_length(unit: str | None) -> bool:
    """Tell whether a unit, as somebody typed it, is a unit of length.

    Parameters
    ----------
    unit : str or None
        Symbol or word; None where no unit is known.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_length("m"), is_length("Feet"), is_length("m/s"), is_length(None)
    (True, True, False, False)
    """
    if unit is None:
        return False
    text = unit.strip()
    return text in SYMBOLS or text.casefold() in WORDS
