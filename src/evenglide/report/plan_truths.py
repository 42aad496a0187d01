"""What a layout finds when the gear really differs by so much: the whole of it, what stays open included.

Over every true effect stands a column of one chance in all: a difference from the foot up, none that matters
from the top down, and what is left between them too close to call.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from evenglide.plan.results import Curve, Offer
from evenglide.report.look import LIGHT
from evenglide.report.pen import Ruler, Spec, curve, hairlines, numbers_at, picture, ribbon, strip, words
from evenglide.report.plan_words import comparison_name, effects_on, percent
from evenglide.report.wording import Effects
from evenglide.show.numbers import NO_BREAK, fixed, listed
from evenglide.show.table import Table

WIDTH, HEIGHT = 352.0, 212.0
LEFT, RIGHT = 50.0, 346.0
TOP, FOOT = 8.0, 164.0
STRIP = 9.0
ALIKE_WITHIN = 0.005
"""Curves that nowhere differ by more are drawn once. [1]"""

LABEL_HEIGHT = 19.0
LABEL_CHARACTER = 7.2
"""Room that a label takes. [px]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Truths:
    """Comparisons with the same chances, drawn once.

    Parameters
    ----------
    names : tuple of str
    curve : Curve
        Of the first of them.
    effects : Effects
        Writes effects there.
    """

    names: tuple[str, ...]
    curve: Curve
    effects: Effects

    @property
    def title(self) -> str:
        """All names in one line."""
        return listed(self.names)


def truths_of(offer: Offer) -> tuple[Truths, ...]:
    """Gather the comparisons of the layout recommended, those with the same chances together."""
    groups: list[tuple[list[str], Curve, Effects]] = []
    for one in offer.curves:
        name, effects = comparison_name(offer, one.surface, one.treatment), effects_on(offer, one.surface)
        known = next((group for group in groups if _same(group[1], one)), None)
        if known is None:
            groups.append(([name], one, effects))
        else:
            known[0].append(name)
    return tuple(Truths(names=tuple(names), curve=own, effects=effects) for names, own, effects in groups)


def _same(one: Curve, other: Curve) -> bool:
    if one.effects != other.effects:
        return False
    pairs = (
        (one.differs, other.differs),
        (one.alike, other.alike),
        (one.matters, other.matters),
        (one.settled, other.settled),
    )
    return all(abs(a - b) <= ALIKE_WITHIN for own, others in pairs for a, b in zip(own, others, strict=True))


def open_share(own: Curve) -> tuple[float, ...]:
    """Chance at each effect that it stays too close to call. [1]."""
    return tuple(1.0 - settled for settled in own.settled)


def truths_finding(one: Truths) -> str:
    """Tell where a comparison is most likely to stay open."""
    shares = open_share(one.curve)
    most = max(shares)
    at = shares.index(most)
    where = one.effects.one(one.curve.effects[at], decimals=_decimals(one))
    return f"Open most often at {where}: {percent(most)}"


def truths_chart(one: Truths) -> Spec:
    """Draw what is found at each true effect.

    Parameters
    ----------
    one : Truths

    Returns
    -------
    dict
        Vega-Lite, without grammar version and configuration.
    """
    shown = [one.effects.shown(effect) for effect in one.curve.effects]
    ruler = Ruler(low=shown[0], high=shown[-1], left=LEFT, right=RIGHT)
    return picture(
        [
            *_areas(one, shown, ruler),
            *_frame(one, ruler),
            *_labels(one, shown, ruler),
        ],
        width=WIDTH,
        height=HEIGHT,
    )


def truths_table(one: Truths) -> Table:
    """Tabulate every chance of the chart."""
    own = one.curve
    columns = zip(own.effects, own.differs, own.matters, own.alike, open_share(own), strict=True)
    rows = tuple(
        (one.effects.one(effect, decimals=_decimals(one)), *map(percent, chances))
        for effect, *chances in columns
    )
    return Table(
        caption=f"What is found at each true effect: {one.title}",
        columns=(
            "true effect",
            "finds a difference",
            "by an amount that matters",
            "none that matters",
            "too close to call",
        ),
        rows=rows,
        align=("left", "right", "right", "right", "right"),
    )


def _decimals(one: Truths) -> int:
    step = one.effects.shown(one.curve.effects[1]) if len(one.curve.effects) > 1 else 1.0
    return next((digits for digits in range(4) if step * 10**digits >= 1), 4)


# -------------------------------------------------------------------------------------------- drawing


def _depth(chance: float) -> float:
    return FOOT - (FOOT - TOP) * chance


def _layers(one: Curve) -> dict[str, list[tuple[float, float]]]:
    """Upper and lower chance of each part of the column, at each effect."""
    columns = list(zip(one.differs, one.matters, one.settled, strict=True))
    return {
        "matters": [(min(matters, differs), 0.0) for differs, matters, _ in columns],
        "differs": [(differs, min(matters, differs)) for differs, matters, _ in columns],
        "open": [(min(1.0, differs + 1.0 - settled), differs) for differs, _, settled in columns],
        "alike": [(1.0, min(1.0, differs + 1.0 - settled)) for differs, _, settled in columns],
    }


_FILLED = {"matters": ("farther", 1.0), "differs": ("farther", 0.38), "alike": ("alike", 1.0)}
_LABELS = {
    "alike": ("no difference that matters", "none that matters"),
    "open": ("too close to call", "open"),
    "differs": ("farther", ""),
    "matters": ("farther, and it matters", "it matters"),
}
_INKS = {"alike": "paper", "open": "ink", "differs": "ink", "matters": "paper"}


def _areas(one: Truths, shown: Sequence[float], ruler: Ruler) -> Iterator[Spec]:
    layers = _layers(one.curve)
    for name, (token, opacity) in _FILLED.items():
        places = [(x, _depth(top), _depth(foot)) for x, (top, foot) in zip(shown, layers[name], strict=True)]
        yield ribbon(places, ruler, color=LIGHT[token], fillOpacity=opacity)
    for place in (0, 1):
        edge = [(x, _depth(pair[place])) for x, pair in zip(shown, layers["open"], strict=True)]
        yield curve(edge, ruler, color=LIGHT["soft"], strokeWidth=1.25, strokeDash=[4, 3])


def _frame(one: Truths, ruler: Ruler) -> Iterator[Spec]:
    marked = (0.0, 0.5, 1.0)
    yield words(
        [(f"{100 * share:.0f}{NO_BREAK}%", _depth(share)) for share in marked],
        left=LEFT - 8,
        align="right",
        color=LIGHT["soft"],
    )
    yield hairlines([FOOT], left=LEFT, right=RIGHT)
    margin = one.effects.shown_margin
    if margin is not None:
        yield strip(0.0, margin[1], ruler, top=FOOT + 3, foot=FOOT + 3 + STRIP)
        yield numbers_at(
            [(margin[1], FOOT + 24, one.effects.margin_words())],
            ruler,
            align="center",
            color=LIGHT["band-text"],
        )
    depth = FOOT + 24
    yield words([("none", depth)], left=LEFT, color=LIGHT["soft"])
    last = fixed(ruler.high, 0 if ruler.high >= 10 else 2)
    unit = one.effects.shown_unit or "units"
    yield words(
        [(f"{last}{NO_BREAK}{unit} {one.effects.wording.more}", depth)],
        left=RIGHT,
        align="right",
        color=LIGHT["soft"],
    )


def _labels(one: Truths, shown: Sequence[float], ruler: Ruler) -> Iterator[Spec]:
    """Name each part inside itself, where there is room for its name."""
    for name, parts in _layers(one.curve).items():
        for text in _LABELS[name]:
            found = _room_for(text, parts, shown=shown, ruler=ruler) if text else None
            if found is not None:
                yield numbers_at(
                    [(*found, text)], ruler, align="center", color=LIGHT[_INKS[name]], fontSize=13
                )
                break


def _room_for(
    text: str, parts: Sequence[tuple[float, float]], *, shown: Sequence[float], ruler: Ruler
) -> tuple[float, float] | None:
    """Place in the middle of the tallest stretch that holds a text; None where none does."""
    half = LABEL_CHARACTER * len(text) / 2
    across = [LEFT + ruler.share(x) * (RIGHT - LEFT) for x in shown]
    best: tuple[float, float, float] | None = None
    for x, middle in zip(shown, across, strict=True):
        if middle - half < LEFT + 4 or middle + half > RIGHT - 4:
            continue
        under = [part for part, place in zip(parts, across, strict=True) if abs(place - middle) <= half + 4]
        top, foot = _depth(min(part[0] for part in under)), _depth(max(part[1] for part in under))
        if foot - top >= LABEL_HEIGHT and (best is None or foot - top > best[0]):
            best = (foot - top, x, (top + foot) / 2)
    return None if best is None else (best[1], best[2])
