"""Days of which a part is recorded on paper or by another phone, as one phone tells them."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from typing import Any

from evenglide.fieldlog.phone_plan import phone_plan
from tests.fieldlog.made_up import schedule, study
from tests.fieldlog.random_days import FINGERPRINT, expected_of, vector


def _elsewhere(first: int, last: int, how: str = "") -> dict[str, Any]:
    return {"kind": "elsewhere", "launches": [*range(first, last + 1)], **({"how": how} if how else {})}


def _made(first: int, last: int) -> list[dict[str, Any]]:
    return [
        {"kind": "set_aside", "launch": number, "cause": "a dog on the lane"}
        for number in range(first, last + 1)
    ]


ROUND_1 = (
    {"kind": "session", "outing": 1},
    {"kind": "prepared", "preparation": "P1"},
    {"kind": "prepared", "preparation": "P2"},
    {"kind": "set_up", "set_up": 1},
)
ELSEWHERE_DAYS: Mapping[str, Sequence[dict[str, Any]]] = {
    "elsewhere: a second phone begins with the second round": (_elsewhere(1, 10, "another phone"),),
    "elsewhere: a second phone goes on amid a set-up": (_elsewhere(1, 6, "another phone"),),
    "elsewhere: a second phone goes on after the first launch": (_elsewhere(1, 1),),
    "elsewhere: who makes the last launches ends the round": (_elsewhere(1, 6), *_made(7, 10)),
    "elsewhere: a second phone goes on at a new set-up": (_elsewhere(1, 4),),
    "elsewhere: the rest of a round on paper": (*ROUND_1, *_made(1, 4), _elsewhere(5, 10, "paper")),
    "elsewhere: a round on paper between two others": (
        *ROUND_1,
        *_made(1, 10),
        {"kind": "round_ended", "block": "1"},
        _elsewhere(11, 20, "paper"),
    ),
    "elsewhere: everything that is left": (*ROUND_1, *_made(1, 3), _elsewhere(4, 10), _elsewhere(11, 30)),
    "elsewhere: taken back": (
        *ROUND_1,
        _elsewhere(1, 10),
        {"kind": "corrected", "target": "4", "withdrawn": True},
    ),
    "elsewhere: recorded after all, and left out": (
        *ROUND_1,
        _elsewhere(1, 10),
        *_made(2, 2),
        {"kind": "launched", "launch": 3},
        {"kind": "skipped", "launches": [4]},
    ),
    "elsewhere: what it may not hold": (
        *ROUND_1,
        {"kind": "elsewhere", "launches": [0]},
        {"kind": "elsewhere", "launches": [1], "how": None},
        {"kind": "elsewhere", "launches": [99]},
    ),
    "elsewhere: the last launch made here after it": (
        *ROUND_1,
        *_made(1, 8),
        _elsewhere(9, 9),
        *_made(10, 10),
    ),
}
"""Bodies in the order of one phone; the id of each is its place."""


def elsewhere_day(name: str) -> dict[str, Any]:
    """One of them with what it comes to: ``{plan, drafts, expected}``, plain values."""
    plan = phone_plan(study(), schedule(blocks=3, launches=2, wear=True), fingerprint=FINGERPRINT)
    drafts = [
        {
            "id": str(place),
            "device": "phone",
            "sequence": place + 1,
            "device_time": "2026-01-17T09:00:00Z",
            "body": {"version": 1} | body,
        }
        for place, body in enumerate(ELSEWHERE_DAYS[name])
    ]
    return {"plan": plan, "drafts": drafts, "expected": expected_of(plan, drafts)}


def partly_elsewhere(seed: int) -> dict[str, Any]:
    """An invented day of which some parts, drawn from the seed, are also said to be recorded elsewhere."""
    day = vector(seed)
    chance = random.Random(f"elsewhere {seed}")
    numbers = [one["number"] for one in day["plan"]["launches"]]
    drafts = list(day["drafts"])
    for place in range(chance.randint(1, 3)):
        first = chance.choice(numbers)
        drafts.append(
            {
                "id": f"elsewhere {place}",
                "device": "third phone",
                "sequence": place + 1,
                "device_time": "2026-01-17T09:00:00Z",
                "body": {"version": 1} | _elsewhere(first, first + chance.randint(0, 8)),
            }
        )
    return {"plan": day["plan"], "drafts": drafts, "expected": expected_of(day["plan"], drafts)}
