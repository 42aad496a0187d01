"""Invented studies: a hill club's snow sliders, as documents and as records."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

from evenglide.study.study import (
    Costs,
    Design,
    Item,
    Outing,
    Rig,
    Scatter,
    Study,
    Surface,
    Treatment,
)

DOCUMENT = """\
format = "evenglide.study/1"

[study]
title = "Does a paraffin rub make the club's snow sliders run farther?"
matters = "10 %"
level = 0.05
main = "wet spring snow"
gear = "slider"
paid_by = "the club"

[[treatment]]
name = "bare"
reference = true

[[treatment]]
name = "paraffin rub"
hands_on = "18 min"
waiting = "15 min"
removable = true

[[item]]
name = "slider 1"
mass = "1.9 kg"

[[item]]
name = "slider 2"
mass = "unknown"

[[surface]]
name = "wet spring snow"
minutes_per_launch = 3

[[surface]]
name = "melt pan"
mark = "timed mark"
after = "5 s"
not_after = ["wet spring snow"]

[design]
preparations = "shared over surfaces"
blocks = "pairs"
directions = ["out"]

[costs]
rig_set_up = "12 min"
outings = [{ day = "2026-01-17", from = "08:30", to = "12:30", surfaces = ["wet spring snow", "melt pan"] }]

[scatter]
preparations = "3 %"
launches = "6 %"
as_if_from = 6

[looks]
number = 1

[rig]
kind = "springs"
base_touches_while_pushing = false

[voids]
reasons = ["rig moved more than 1 cm", "nose under the snow", "touched by somebody"]

[blinding]
hidden_from = ["reader"]

[x]
cup = { holder = "nobody yet", year = 2026 }
"""


def changed(*changes: tuple[str, str]) -> str:
    """Give the document with pieces of its text replaced; each piece must stand in it once."""
    text = DOCUMENT
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def made_up_study(
    *,
    treatments: int = 2,
    items: int = 2,
    surfaces: int = 2,
    not_after: dict[int, tuple[int, ...]] | None = None,
    main: int | None = None,
    hidden: bool = False,
    stays: bool = False,
    outings: tuple[Outing, ...] = (),
    timed: bool = True,
    **design: Any,
) -> Study:
    """Make a study of so many of everything, named by numbers."""
    names = [f"surface {number}" for number in range(surfaces)]
    before = not_after or {}
    if items == 1:
        design.setdefault("layout", "in sequence")
    return Study(
        title="Does a rub of the base make sliders run farther?",
        margin=(-math.log1p(0.1), math.log1p(0.1)),
        main=None if main is None else names[main],
        treatments=tuple(
            Treatment(
                name="bare" if at == 0 else f"rub {at}",
                reference=at == 0,
                hands_on_s=600.0,
                removable=at == 0 or not stays,
            )
            for at in range(treatments)
        ),
        items=tuple(Item(name=f"slider {number + 1}") for number in range(items)),
        item_word="slider",
        surfaces=tuple(
            Surface(
                name=name,
                minutes_per_launch=3.0 if timed else None,
                not_after=tuple(names[other] for other in before.get(at, ())),
            )
            for at, name in enumerate(names)
        ),
        design=Design(**design),
        costs=Costs(rig_set_up_s=720.0, outings=outings),
        void_reasons=("rig moved",),
        hidden_from=("reader",) if hidden else (),
    )


# ------------------------------------------------------------------------ any study, for the laws

_LETTERS = st.characters(codec="utf-8", categories=("L", "N", "P", "S"))


def _names(least: int, most: int) -> st.SearchStrategy[list[str]]:
    name = st.text(_LETTERS, min_size=1, max_size=8)
    return st.lists(name, min_size=least, max_size=most, unique_by=str.casefold)


_SECONDS = st.none() | st.decimals(0, 5000, places=1).map(float)
_PERCENTS = st.decimals("0.001", 100, places=3).map(lambda number: math.log1p(float(number) / 100))
_METRES = st.decimals("0.001", 50, places=3).map(float)
_SHARES = st.decimals("0.1", 50, places=1).map(lambda percent: float(percent / 100))


@st.composite
def studies(draw: st.DrawFn) -> Study:
    """Any study that a document can say."""
    scale = draw(st.sampled_from(["ratio", "difference"]))
    margins = st.none() | (_PERCENTS if scale == "ratio" else _METRES).map(lambda end: (-end, end))
    treatments, surfaces, items = draw(_names(2, 3)), draw(_names(1, 4)), draw(_names(2, 2))
    sequence = draw(st.booleans())
    outing = Outing(day="2026-01-17", start="08:30", end="12:30", surfaces=(surfaces[0],))
    early = st.lists(st.integers(1, 98), max_size=3, unique=True)
    looks_at = (*(one / 99 for one in sorted(draw(early))), 1.0) if draw(st.booleans()) else ()
    own = st.dictionaries(st.text(_LETTERS, min_size=1, max_size=4), st.integers(0, 9) | st.booleans())
    return Study(
        title=" ".join(draw(_names(1, 5))),
        response=draw(_names(1, 1))[0],
        unit="m",
        better=draw(st.sampled_from(["higher", "lower"])),
        scale=scale,
        margin=draw(margins),
        level=draw(st.floats(0.001, 0.4)),
        adjust=draw(st.sampled_from(["holm", "both", "none"])),
        main=draw(st.none() | st.sampled_from(surfaces)),
        treatments=tuple(draw(_treatment(name, reference=name == treatments[0])) for name in treatments),
        items=tuple(draw(_item(name)) for name in (items[:1] if sequence else items)),
        item_word=draw(_names(1, 1))[0],
        surfaces=tuple(draw(_surface(surfaces, at, margins)) for at in range(len(surfaces))),
        design=draw(_design(sequence=sequence, may_balance=sequence and len(treatments) == 2)),
        costs=Costs(
            rig_set_up_s=draw(_SECONDS),
            reserve=draw(st.sampled_from([None, 0.0, 0.15])),
            outings=draw(st.sampled_from([(), (outing,)])),
        ),
        scatter=draw(_scatter(_SHARES if scale == "ratio" else _METRES)),
        looks=len(looks_at) or draw(st.integers(1, 4)),
        looks_at=looks_at,
        rig=Rig(
            kind=draw(st.sampled_from(["springs", "ramp", "bungee", "tow", "hand"])),
            base_touches_while_pushing=draw(st.booleans()),
        ),
        void_reasons=tuple(draw(_names(0, 3))),
        expected_voids=draw(st.sampled_from([None, 0.0, 0.05, 0.125])),
        hidden_from=tuple(draw(_names(0, 2))),
        paid_by=draw(st.text(_LETTERS, max_size=9)),
        own=draw(own),
    )


@st.composite
def _treatment(draw: st.DrawFn, name: str, *, reference: bool) -> Treatment:
    return Treatment(
        name=name,
        reference=reference,
        hands_on_s=draw(_SECONDS),
        waiting_s=draw(_SECONDS),
        removable=draw(st.booleans()),
        note=draw(st.text(_LETTERS, max_size=9)),
    )


@st.composite
def _item(draw: st.DrawFn, name: str) -> Item:
    return Item(name=name, mass_kg=draw(st.none() | st.decimals("0.1", 99, places=2).map(float)))


@st.composite
def _design(draw: st.DrawFn, *, sequence: bool, may_balance: bool) -> Design:
    return Design(
        preparations=draw(st.sampled_from(["shared over surfaces", "fresh on each surface"])),
        layout="in sequence" if sequence else "in parallel",
        order=draw(st.sampled_from(["uniform", "balanced"])) if may_balance else "uniform",
        directions=draw(st.sampled_from([("out",), ("out", "back")])),
        practice_launches=draw(st.integers(0, 5)),
        wear_check=draw(st.integers(0, 5)),
        return_to_bare=draw(st.integers(0, 5)),
        residual=draw(st.sampled_from(["pooled", "own pair"])),
    )


@st.composite
def _scatter(draw: st.DrawFn, amounts: st.SearchStrategy[float]) -> Scatter:
    return Scatter(
        preparations=draw(st.none() | amounts),
        launches=draw(st.none() | amounts),
        as_if_from=draw(st.none() | st.integers(1, 99)),
        source=draw(st.sampled_from(["unknown", "stated", "rig", "pilot.csv"])),
        columns=draw(st.sampled_from([{}, {"response": "metres", "set_aside": "out"}])),
    )


@st.composite
def _surface(draw: st.DrawFn, names: list[str], at: int, margins: st.SearchStrategy[Any]) -> Surface:
    """One surface; only earlier ones may be forbidden before it, so that some order is left."""
    mark = draw(st.sampled_from(["run-out", "timed mark", "gate times", "path", "number"]))
    return Surface(
        name=names[at],
        mark=mark,
        after_s=draw(st.decimals("0.1", 99, places=1).map(float)) if mark == "timed mark" else None,
        minutes_per_launch=draw(st.none() | st.decimals("0.1", 60, places=1).map(float)),
        not_after=tuple(draw(st.lists(st.sampled_from(names[:at]), unique=True))) if at else (),
        margin=draw(margins),
    )
