"""Numbers as people read them: rounded by what is known of them, never without their unit.

The one rule for digits: a value is written to the digit at which its uncertainty begins. The
uncertainty keeps two significant digits where its leading digit is 1 or 2 and one otherwise, so
that rounding never moves it by more than about a quarter. JCGM 100:2008, 7.2.6, says that at most
two digits usually suffice (from memory); where to stop between one and two is common practice, no
source.

Number, percent sign and unit are held together by a space that does not break, groups of thousands
by a narrow one, and a negative number carries a minus sign, not a hyphen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

NO_BREAK = "\u00a0"
NARROW_NO_BREAK = "\u202f"
MINUS = "\u2212"
MOST_DECIMALS = 6
SPELLED = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip

_TWO_DIGITS_BELOW = 3
_GROUP_FROM = 10_000
_SECONDS = 60


def decimals_for(uncertainty: float) -> int:
    """Decimals a value deserves, given its uncertainty; negative where whole tens are rounded.

    Parameters
    ----------
    uncertainty : float
        Standard or expanded uncertainty, in the value's unit; positive and finite.

    Returns
    -------
    int

    Raises
    ------
    ValueError
        If `uncertainty` is not positive and finite: nothing then says where to round.

    Examples
    --------
    >>> decimals_for(0.024), decimals_for(0.031), decimals_for(42.0)
    (3, 2, -1)
    """
    if not (math.isfinite(uncertainty) and uncertainty > 0):
        raise ValueError(f"uncertainty must be positive and finite, got {uncertainty!r}")
    leading, exponent = f"{uncertainty:.1e}".split("e")
    digits = 2 if int(leading[0]) < _TWO_DIGITS_BELOW else 1
    return digits - 1 - int(exponent)


def fixed(value: float, decimals: int) -> str:
    """Write a number with so many decimals, a minus sign and narrow spaces between thousands.

    Examples
    --------
    >>> fixed(-0.044, 2)
    '−0.04'
    >>> fixed(-0.0004, 2), fixed(1234.5, -1)
    ('0.00', '1230')
    """
    written = f"{round(value, decimals):.{max(decimals, 0)}f}"
    if not any(digit in "123456789" for digit in written):
        written = written.removeprefix("-")
    sign, digits = (MINUS, written[1:]) if written.startswith("-") else ("", written)
    before, point, after = digits.partition(".")
    if len(before) > len(str(_GROUP_FROM)) - 1:
        before = f"{int(before):,}".replace(",", NARROW_NO_BREAK)
    return f"{sign}{before}{point}{after}"


def with_unit(number: str, unit: str | None) -> str:
    """Tie a written number to its unit; a reading whose unit nobody named is counted in "units".

    Examples
    --------
    >>> with_unit("6.4", "m").replace(NO_BREAK, "~"), with_unit("6.4", None).replace(NO_BREAK, "~")
    ('6.4~m', '6.4~units')
    """
    return f"{number}{NO_BREAK}{unit or 'units'}"


def rounded(value: float, uncertainty: float | None, *, unit: str | None) -> str:
    """Write a value with its unit, rounded by its uncertainty (three digits where that is not known).

    Parameters
    ----------
    value : float
        In `unit`.
    uncertainty : float or None
        In `unit`; None, zero or not finite where it is not known.
    unit : str or None
        Unit as written, ``"%"`` included.

    Examples
    --------
    >>> rounded(6.4321, 0.08, unit="m").replace(NO_BREAK, "~")
    '6.43~m'
    """
    if uncertainty is None or not math.isfinite(uncertainty) or uncertainty <= 0:
        return with_unit(plain(value, digits=3), unit)
    return with_unit(fixed(value, min(decimals_for(uncertainty), MOST_DECIMALS)), unit)


def plain(value: float, *, digits: int = 6) -> str:
    """Write a number that somebody stated, without trailing zeros.

    Examples
    --------
    >>> plain(5.0), plain(0.25), plain(100 * math.expm1(math.log(1.025)))
    ('5', '0.25', '2.5')
    """
    if value == 0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    written = fixed(value, decimals)
    return written.rstrip("0").rstrip(".") if "." in written else written


def percent_change(log_ratio: float) -> float:
    """Percent by which a ratio differs from one, from its natural logarithm."""
    return 100.0 * math.expm1(log_ratio)


def percent_scatter(log_sd: float) -> float:
    """Coefficient of variation, in percent, of values whose logarithms are normal with this SD.

    100 sqrt(exp(sd^2) - 1), from the first two moments of the lognormal distribution.
    """
    return 100.0 * math.sqrt(math.expm1(log_sd**2))


def decimals_that_tell_apart(values: Iterable[float], anchors: Sequence[float], *, start: int) -> int:
    """Fewest decimals, from `start` on, at which no value reads like an anchor it is not equal to.

    A bound of 4.8 must not be printed as "5 %" beside "the 5 % that matters".

    Parameters
    ----------
    values, anchors : iterable of float, sequence of float
        In one unit.
    start : int
        Decimals that the uncertainty asks for.

    Returns
    -------
    int
        At most `MOST_DECIMALS`.
    """
    values = tuple(values)
    for decimals in range(start, MOST_DECIMALS + 1):
        reads_alike = any(
            value != anchor and round(value, decimals) == round(anchor, decimals)
            for value in values
            for anchor in anchors
        )
        if not reads_alike:
            return decimals
    return max(start, MOST_DECIMALS)


def span(low: float, high: float, *, unit: str | None, decimals: int) -> str:
    """Write a range with its unit once: ``4 to 15 %``; one number where both ends read the same.

    Examples
    --------
    >>> span(4.2, 15.3, unit="%", decimals=0).replace(NO_BREAK, "~")
    '4 to 15~%'
    """
    first, second = fixed(low, decimals), fixed(high, decimals)
    return with_unit(first if first == second else f"{first} to {second}", unit)


def whole(number: int) -> str:
    """Write a whole number, thousands apart from 10 000 on."""
    return fixed(number, 0)


def count(number: int, singular: str, plural: str | None = None) -> str:
    """Write how many of something: ``1 preparation``, ``6 preparations``."""
    return f"{whole(number)}{NO_BREAK}{singular if number == 1 else plural or singular + 's'}"


def spelled(number: int) -> str:
    """Spell a small number inside a sentence, figures from thirteen on."""
    return SPELLED[number] if 0 <= number < len(SPELLED) else whole(number)


def listed(names: Sequence[str], *, last: str = "and") -> str:
    """Join names in a sentence: ``a, b and c``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def p_value(p: float) -> str:
    r"""Write a p value for the referee: two digits, three decimals from 0.1 on, never a bare zero.

    Examples
    --------
    >>> p_value(0.02714), p_value(0.34567), p_value(0.00001), p_value(1.0)
    ('0.027', '0.346', '<\xa00.0001', '1')
    """
    if p < 0.0001:
        return f"<{NO_BREAK}0.0001"
    if p >= 1:
        return "1"
    if p >= 0.9995:
        return f">{NO_BREAK}0.999"
    if p >= 0.1:
        return fixed(p, 3)
    return fixed(p, 1 - math.floor(math.log10(p)))


def duration(seconds: float) -> str:
    """Write a time that work takes: ``45 s``, ``18 min``, ``2 h 5 min``.

    Parameters
    ----------
    seconds : float
        Not negative. [s]
    """
    if round(seconds) < _SECONDS:
        return with_unit(fixed(seconds, 0), "s")
    hours, minutes = divmod(round(seconds / _SECONDS), _SECONDS)
    parts = [with_unit(str(hours), "h")] if hours else []
    if minutes or not hours:
        parts.append(with_unit(str(minutes), "min"))
    return NO_BREAK.join(parts)


def round_step(rough: float) -> float:
    """Smallest of 1, 2 and 5 times a power of ten that is not below `rough`.

    Examples
    --------
    >>> round_step(0.3), round_step(4.1), round_step(6.0)
    (0.5, 5.0, 10.0)
    """
    power = 10.0 ** math.floor(math.log10(rough))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))


def round_ticks(low: float, high: float, *, about: int) -> list[float]:
    """Round numbers from `low` to `high`, at most `about` + 1 of them.

    Examples
    --------
    >>> round_ticks(5.9, 8.3, about=4)
    [6.0, 7.0, 8.0]
    """
    step = round_step((high - low) / about)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(k * step, 12) for k in range(first, last + 1)]
