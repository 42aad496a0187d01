"""Invented days as phones might record them, sense and nonsense alike, from a seed."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

from evenglide.fieldlog.bodies import parse_body
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.day import day_of
from evenglide.fieldlog.events import Draft, derived_id
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.phone_plan import phone_plan
from tests.fieldlog.made_up import schedule, study

FINGERPRINT = "5f" * 32
KINDS = ("landed", "read", "set_aside", "at_least", "stopped", "peg_lost", "noted")


def vector(seed: int) -> dict[str, Any]:
    """One invented day with what it comes to: ``{plan, drafts, expected}``, plain values."""
    chance = random.Random(seed)
    made = schedule(
        blocks=chance.choice([1, 2, 3]), launches=chance.choice([1, 2]), wear=chance.random() < 0.5
    )
    plan = phone_plan(study(), made, fingerprint=FINGERPRINT)
    drafts = list(_drafts(plan, chance))
    return {"plan": plan, "drafts": drafts, "expected": expected_of(plan, drafts)}


def expected_of(plan: dict[str, Any], drafts: list[dict[str, Any]]) -> dict[str, Any]:
    """What the laptop makes of plain drafts."""
    made = [
        Draft(
            **{name: value for name, value in draft.items() if name != "body"}, body=parse_body(draft["body"])
        )
        for draft in drafts
    ]
    return day_of(plan, replay(chain(made, server_time="2026-01-17T09:00:00Z"))).to_dict()


def _drafts(plan: dict[str, Any], chance: random.Random) -> Iterator[dict[str, Any]]:
    """Records in the order of a day, cut off somewhere, then corrections and nonsense among them."""
    bodies = list(_day(plan, chance))
    bodies = bodies[: chance.randint(0, len(bodies))]
    sequences = {"phone": 0, "second phone": 0}
    ids: list[str] = []
    for number, planned in enumerate(bodies):
        device = "second phone" if chance.random() < 0.1 else "phone"
        body = _corrected(ids, chance, planned) if chance.random() < 0.08 else planned
        if chance.random() < 0.04:
            spoilt = chance.choice(["launch", "preparation", "version", "peg"])
            body = {**body, spoilt: chance.choice([None, -1, 2])}
        sequences[device] += 1
        identity = derived_id("random day", number)
        ids.append(identity)
        yield {
            "id": identity,
            "device": device,
            "sequence": sequences[device],
            "device_time": "2026-01-17T09:00:00Z",
            "body": body,
        }


def _corrected(ids: list[str], chance: random.Random, instead: dict[str, Any]) -> dict[str, Any]:
    """A correction of some earlier record, perhaps itself a correction, perhaps of nothing."""
    if not ids:
        return instead
    target = chance.choice(ids) if chance.random() < 0.9 else "nothing"
    said = chance.choice(
        [
            {"withdrawn": True},
            {"text": "3,4", "value": 3.4},
            {"text": "", "unread": True},
            {"changes": {"peg": "9"}},
            {"changes": {"launch": 1}},
            {"changes": {"value": "far"}},
        ]
    )
    return {"kind": "corrected", "version": 1, "target": target, **said}


def _day(plan: dict[str, Any], chance: random.Random) -> Iterator[dict[str, Any]]:
    session, blocks, set_ups = 0, "", 0
    for launch in plan["launches"]:
        if launch["outing"] != session:
            session = launch["outing"]
            yield {"kind": "session", "version": 1, **({"outing": session} if chance.random() < 0.7 else {})}
        if launch["block"] != blocks:
            if blocks and chance.random() < 0.8:
                yield {"kind": "round_ended", "version": 1, "block": blocks}
            blocks = launch["block"]
            coats = dict.fromkeys(one["preparation"] for one in plan["launches"] if one["block"] == blocks)
            for coat in coats:
                yield {"kind": "prepared", "version": 1, "preparation": coat, "grams": 4}
        if launch["set_up"] != set_ups:
            set_ups = launch["set_up"]
            yield {"kind": "set_up", "version": 1, "set_up": set_ups}
        yield from _launch(launch["number"], chance)
    yield {"kind": "round_ended", "version": 1, "block": blocks}


def _launch(number: int, chance: random.Random) -> Iterator[dict[str, Any]]:
    if chance.random() < 0.03:
        yield {"kind": "skipped", "version": 1, "launches": [number], "why": "the tide"}
        return
    yield {"kind": "launched", "version": 1, "launch": number}
    for _ in range(chance.choice([1, 1, 1, 2])):
        kind = chance.choices(KINDS, weights=[8, 6, 1, 1, 1, 1, 1])[0]
        more: dict[str, Any] = {
            "landed": {"peg": f"{1 + number % 6}"},
            "read": {"text": "5.2", "value": 5.2, "unit": "m"},
            "set_aside": {"cause": "nose under the snow"},
            "noted": {"words": "gust"},
        }.get(kind, {})
        if kind == "read" and chance.random() < 0.1:
            more = {"text": "five", "unread": True}
        yield {"kind": kind, "version": 1, "launch": number, **more}
