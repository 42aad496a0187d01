"""The words for more and less, decided once per report, and effects written in them.

A distance goes "farther" or "shorter"; a response whose unit is no length, measured by nobody knows
what mark, is only "higher" or "lower".
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from evenglide.show.numbers import (
    MOST_DECIMALS,
    decimals_for,
    decimals_that_tell_apart,
    fixed,
    percent_change,
    plain,
    with_unit,
)
from evenglide.typing import Interval, Scale
from evenglide.units.lengths import is_length

NEAR_EDGE = 0.75
"""From this part of the lower edge on, a bound is held against that edge, not the stated one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """How this report speaks of more and less.

    Parameters
    ----------
    distance : bool
        The response is a distance.
    more, less : str
        "farther" and "shorter", or "higher" and "lower".
    goes_more, goes_less : str
        The same as the start of a sentence.
    same : str
        What the line in the middle of a lane stands for.
    """

    distance: bool
    more: str
    less: str
    goes_more: str
    goes_less: str
    same: str


DISTANCE = Wording(
    distance=True,
    more="farther",
    less="shorter",
    goes_more="Goes farther",
    goes_less="Goes shorter",
    same="same distance",
)
NUMBER = Wording(
    distance=False, more="higher", less="lower", goes_more="Higher", goes_less="Lower", same="same value"
)


def choose_wording(unit: str | None, *, mark_given: bool) -> Wording:
    """Decide whether pages may speak of distance.

    Parameters
    ----------
    unit : str or None
        Unit of the response, where known.
    mark_given : bool
        Somebody said how the distance was marked.
    """
    return DISTANCE if mark_given or is_length(unit) else NUMBER


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """Writes effects, given on the analysis scale, in percent or in the response's unit.

    Parameters
    ----------
    scale : {"ratio", "difference"}
    unit : str or None
        Unit of the response.
    wording : Wording
    margin : (float, float) or None
        Difference that matters, analysis scale.
    """

    scale: Scale
    unit: str | None
    wording: Wording
    margin: tuple[float, float] | None

    @property
    def shown_unit(self) -> str | None:
        """Unit in which effects are written."""
        return "%" if self.scale == "ratio" else self.unit

    def shown(self, effect: float) -> float:
        """Put an effect into the unit in which it is written."""
        return percent_change(effect) if self.scale == "ratio" else effect

    @property
    def shown_margin(self) -> tuple[float, float] | None:
        """Both edges of the difference that matters, as written."""
        if self.margin is None:
            return None
        low, high = self.margin
        return self.shown(low), self.shown(high)

    def margin_words(self) -> str:
        """Write the difference that matters as it was stated: its upper edge, ``5 %``."""
        assert self.shown_margin is not None
        return with_unit(plain(self.shown_margin[1]), self.shown_unit)

    @property
    def matters(self) -> str:
        """Verb for the difference that matters: an amount is one thing, but units are many."""
        return "matters" if self.shown_unit else "matter"

    def edge_words(self) -> tuple[str, str]:
        """Write both edges of what does not matter: ``4.8 %`` and ``5 %``.

        A ratio of 1.05 upwards is one of 1/1.05 downwards, 4.8 % and not 5 %.
        """
        assert self.shown_margin is not None
        low, high = self.shown_margin
        below = plain(-low) if math.isclose(-low, high) else plain(-low, digits=2)
        return with_unit(below, self.shown_unit), self.margin_words()

    def band_words(self) -> str:
        """Write what does not matter from edge to edge: ``4.8 % shorter to 5 % farther``."""
        below, above = self.edge_words()
        return f"{below} {self.wording.less} to {above} {self.wording.more}"

    def edges_words(self) -> str:
        """Write where it begins to matter on both sides: ``4.8 % shorter or 5 % farther``."""
        below, above = self.edge_words()
        return f"{below} {self.wording.less} or {above} {self.wording.more}"

    def margin_words_on(self, bound: float, *, both: bool = False) -> str:
        """Write the margin beside a bound; the lower edge where the stated one would read against it.

        With 5 % stated, a bound of 4.9 % shorter is beyond what does not matter, and reads as if it
        were not.

        Parameters
        ----------
        bound : float
            Analysis scale.
        both : bool, optional
            The bound is one end of an interval with both directions in it, so both edges are named.
        """
        assert self.shown_margin is not None
        low, high = self.shown_margin
        if math.isclose(-low, high) or not -high < self.shown(bound) <= NEAR_EDGE * low:
            return self.margin_words()
        return self.edges_words() if both else f"{self.edge_words()[0]} {self.wording.less}"

    def decimals(self, low: float, high: float) -> int:
        """Decimals that half the width of an interval asks for."""
        half_width = abs(self.shown(high) - self.shown(low)) / 2
        known = math.isfinite(half_width) and half_width > 0
        return min(max(decimals_for(half_width), 0), MOST_DECIMALS) if known else 1

    def number(self, effect: float, *, decimals: int) -> str:
        """Write an effect without its sign and unit; more decimals where it would read as nought or an edge.

        A bound of 4.8 must not stand as "5" beside "the 5 % that matters".
        """
        anchors = [0.0]
        if self.shown_margin is not None:
            anchors += [abs(edge) for edge in self.shown_margin]
        size = abs(self.shown(effect))
        return fixed(size, decimals_that_tell_apart([size], anchors, start=decimals))

    def amount(self, low: float, high: float) -> str:
        """Write the size of an effect that lies on one side: ``4 to 15 %``, without its direction."""
        decimals = self.decimals(low, high)
        near, far = (self.number(end, decimals=decimals) for end in sorted((low, high), key=abs))
        return with_unit(near if near == far else f"{near} to {far}", self.shown_unit)

    def side(self, effect: float) -> str:
        """Name the direction of an effect."""
        return self.wording.more if effect > 0 else self.wording.less

    def one(self, effect: float, *, decimals: int) -> str:
        """Write one bound with its direction: ``6 % shorter``."""
        if self.shown(effect) == 0:
            return self.wording.same
        number = self.number(effect, decimals=decimals)
        return f"{with_unit(number, self.shown_unit)} {self.side(effect)}"

    def range(self, interval: Interval) -> str:
        """Write what still fits: ``6 % shorter to 12 % farther``, ``4 to 15 % farther``, one end open."""
        low, high = interval
        if low is None and high is None:
            return "anything"
        if low is None or high is None:
            return self._open_ended(low, high)
        if low * high >= 0 and (low, high) != (0.0, 0.0):
            return f"{self.amount(low, high)} {self.side(low + high)}"
        decimals = self.decimals(low, high)
        return f"{self.one(low, decimals=decimals)} to {self.one(high, decimals=decimals)}"

    def _open_ended(self, low: float | None, high: float | None) -> str:
        bound = low if low is not None else high
        assert bound is not None
        decimals = self.decimals(bound, 0.0)
        if low is not None:
            return f"{self.one(bound, decimals=decimals)} or anything more"
        return f"{self.one(bound, decimals=decimals)} or anything less"
