"""What may go wrong in a rehearsal, each with a plain name and a stated size.

None of the sizes is a measurement: they are what a rough day may bring, common practice, no source; each can
be stated otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from evenglide.errors import OptionError, Problem
from evenglide.show.numbers import NO_BREAK, listed, plain
from evenglide.show.typed import quoted

Kind = Literal["share", "change", "times", "none"]
NOTHING = "nothing"
SHORT_BY = 1.0
"""Scatters of a launch by which it has to come out short before somebody is tempted to set it aside."""
OUTLIER_REACH = 5.0
"""Scatters of a launch that an outlier takes the place of one of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One thing that goes wrong.

    Parameters
    ----------
    name : str
        As it is asked for.
    size : float
        Share of launches or change, 1 for 100 %; a factor; 0 where it has no size.
    told : str
        In words, with its size.
    remedy : str
        What keeps it away.
    """

    name: str
    size: float
    told: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    kind: Kind
    size: float
    largest: float
    words: str
    remedy: str


TROUBLES: Mapping[str, _Known] = {
    "set-aside": _Known(
        kind="share",
        size=0.1,
        largest=0.9,
        words="{size} of the launches are set aside, by chance",
        remedy="Plan a launch or two more on each preparation.",
    ),
    "wishful-set-aside": _Known(
        kind="share",
        size=0.5,
        largest=1.0,
        words="{size} of the treated launches that come out short are set aside, none of {reference}",
        remedy="Say the cause before anybody knows the distance, and hide the treatment from who says it.",
    ),
    "drift": _Known(
        kind="change",
        size=0.15,
        largest=1.0,
        words="everything glides {size} farther by the end of a day",
        remedy="Keep to the order of the list, A B B A.",
    ),
    "wear": _Known(
        kind="share",
        size=0.02,
        largest=0.9,
        words="every launch takes {size} of what is left of an effect",
        remedy="Launch each preparation less often, and check wear.",
    ),
    "faster-item": _Known(
        kind="change",
        size=0.1,
        largest=1.0,
        words="one {item} glides {size} farther than the others",
        remedy="Let each {item} carry each treatment.",
    ),
    "unequal-scatter": _Known(
        kind="times",
        size=2.0,
        largest=10.0,
        words="treated preparations scatter {size} as much as those of {reference}",
        remedy="Prepare by weight and by the clock, or plan more rounds.",
    ),
    "outliers": _Known(
        kind="share",
        size=0.03,
        largest=0.5,
        words="{size} of the launches scatter five times as much",
        remedy="List their causes in the study, so that they can be set aside.",
    ),
    "spoilt-outing": _Known(
        kind="none",
        size=0.0,
        largest=0.0,
        words="nothing is launched on the last outing",
        remedy="Keep an outing in hand.",
    ),
    "centimetre": _Known(
        kind="none",
        size=0.0,
        largest=0.0,
        words="distances are read to the centimetre",
        remedy="Read all the digits of the tape.",
    ),
    "decimetre": _Known(
        kind="none",
        size=0.0,
        largest=0.0,
        words="distances are read to the decimetre",
        remedy="Read to the centimetre.",
    ),
    "lane-end": _Known(
        kind="share",
        size=0.2,
        largest=0.9,
        words="{size} of the launches of {reference} reach the end of the lane",
        remedy="Find a longer lane, or launch more slowly.",
    ),
}
_SIZE = re.compile(r"(?P<number>[0-9]+(?:[.,][0-9]+)?)\s*(?P<sign>%?)")


def named_troubles(
    texts: Sequence[str], *, item: str, reference: str, expected_voids: float = 0.0
) -> tuple[Trouble, ...]:
    """Read troubles as somebody asked for them.

    Parameters
    ----------
    texts : sequence of str
        Names of `TROUBLES`, each with its size behind a sign of equality if it is not to have the usual one:
        ``"set-aside"``, ``"set-aside=20 %"``, ``"unequal-scatter=3"``.
    item, reference : str
        What a piece of gear and the reference are called.
    expected_voids : float, optional
        Share of launches that the study expects to set aside; trouble begins beyond it. [1]

    Returns
    -------
    tuple of Trouble
        In the order of `TROUBLES`, whatever the order they were asked for in.

    Raises
    ------
    OptionError
        With every name and size that is none, and every name that was given twice.
    """
    problems: list[Problem] = []
    found: dict[str, Trouble] = {}
    for text in texts:
        name, _, size = (piece.strip() for piece in text.partition("="))
        known = TROUBLES.get(name)
        if known is None:
            problems.append(
                _problem(quoted(name), f"{listed(list(TROUBLES), last='or')}", code="no-such-trouble")
            )
            continue
        if name in found:
            problems.append(_problem(f"{name} twice", "each once", code="bad-trouble"))
            continue
        usual = (
            max(known.size, min(2.0 * expected_voids, known.largest)) if name == "set-aside" else known.size
        )
        amount = _size(size, known) if size else usual
        if amount is None or (size and known.kind == "none"):
            problems.append(_problem(quoted(text), _expected(name, known), code="bad-trouble"))
            continue
        found[name] = _trouble(name, amount, item=item, reference=reference)
    if problems:
        raise OptionError(problems)
    return tuple(found[name] for name in TROUBLES if name in found)


def _trouble(name: str, size: float, *, item: str, reference: str) -> Trouble:
    known = TROUBLES[name]
    shown = f"{plain(size)} times" if known.kind == "times" else f"{plain(100.0 * size)}{NO_BREAK}%"
    return Trouble(
        name=name,
        size=size,
        told=known.words.format(size=shown, item=item, reference=reference),
        remedy=known.remedy.format(item=item),
    )


def _size(text: str, known: _Known) -> float | None:
    """Read a size; None if it is none, or beyond what makes sense."""
    match = _SIZE.fullmatch(text)
    if match is None or (known.kind == "times") == bool(match["sign"]):
        return None
    number = float(match["number"].replace(",", "."))
    size = number if known.kind == "times" else number / 100.0
    return size if 0.0 < size <= known.largest else None


def _expected(name: str, known: _Known) -> str:
    if known.kind == "none":
        return f"{name} alone: it has no size"
    if known.kind == "times":
        return f"a factor of at most {plain(known.largest)}, such as {name}={plain(known.size)}"
    largest, usual = plain(100.0 * known.largest), plain(100.0 * known.size)
    return f'at most {largest} %, such as "{name}={usual} %"'


def _problem(found: str, expected: str, *, code: str) -> Problem:
    return Problem(
        code=code,
        where="--trouble",
        found=found,
        expected=expected,
        remedy="See docs/rehearse.md, or leave --trouble out to see them all.",
    )
