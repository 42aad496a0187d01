"""A list on paper that somebody types in: what of it is asked for twice, and the table that it makes."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping
from typing import Any

from evenglide.fieldlog.day import NEEDS_NO_READING
from evenglide.intake.list_columns import LAUNCH
from evenglide.intake.sheet import Record, Sheet, sheet_from_records

SAMPLE = 10
"""One row of a round in so many is asked for twice (common practice, no source)."""
TYPED = ("reading", "cause", "seen", "note")
TICKED = {"at_least": "at least", "stopped": "stopped", "lost": "peg lost"}
"""Boxes of the list on paper, and the columns of a table that they fill."""


def asked_twice(plan: Mapping[str, Any]) -> list[int]:
    """Draw the launches that are asked for twice.

    The draw follows from the seal, so that nobody chooses it; some are of each round, as a round is what is
    typed at once.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.

    Returns
    -------
    list of int
        Numbers of launches, sorted.
    """
    chance = random.Random(plan["study"])
    rounds: dict[str, list[int]] = {}
    for one in plan["launches"]:
        if one["kind"] not in NEEDS_NO_READING:
            rounds.setdefault(one["block"], []).append(one["number"])
    return sorted(
        number
        for numbers in rounds.values()
        for number in chance.sample(numbers, math.ceil(len(numbers) / SAMPLE))
    )


def typed_sheet(plan: Mapping[str, Any], typed: Mapping[str, str]) -> Sheet | None:
    """Make of what was typed the table that a filled-in list would be; None if nothing was.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.
    typed : mapping of str to str
        By the names of the fields: ``reading-7`` is the reading of launch 7.
    """
    records = list(_records(plan, typed))
    if not records:
        return None
    header = [LAUNCH, plan["response"], "set aside", "value seen", *TICKED.values(), "note", "reader"]
    # As in a table whose cells a comma does not part: 5,3 can be read in one way only.
    return sheet_from_records([(0, 0, header), *records], kind="typed", separator=";")


def _records(plan: Mapping[str, Any], typed: Mapping[str, str]) -> Iterator[Record]:
    reader = typed.get("reader", "").strip()
    for number in (one["number"] for one in plan["launches"]):
        reading, cause, seen, note = (typed.get(f"{name}-{number}", "").strip() for name in TYPED)
        ticks = ["yes" if typed.get(f"{name}-{number}") else "" for name in TICKED]
        if any((reading, cause, note, *ticks)):
            # Whether a distance was known says something of a cause alone; without one it is nothing typed.
            known = seen if cause else ""
            cells = [str(number), reading, cause, known, *ticks, note, reader if reading else ""]
            yield number, number, cells
