"""Small days on which the two languages once came to different things, each for one reason."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from evenglide.fieldlog.phone_plan import phone_plan
from tests.fieldlog.made_up import schedule, study
from tests.fieldlog.random_days import FINGERPRINT, expected_of

HUGE = 1e16
BELOW, ABOVE = "\uffff", "\U0001f600"
"""By code points the second comes later, by the halves in which a browser holds it earlier."""
PRACTICE = "nobody reads how far practice went"
OF_A_RECORD = ("id", "device", "sequence")
READY: tuple[dict[str, Any], ...] = (
    {"kind": "session", "outing": 2},
    {"kind": "prepared", "preparation": "P1"},
    {"kind": "prepared", "preparation": "P2"},
)
ODD_DAYS: Mapping[str, Sequence[dict[str, Any]]] = {
    "kinds that every object has": (
        *READY,
        {"kind": "constructor", "launch": 1},
        {"kind": "__proto__", "launch": 2},
        {"kind": "toString", "launch": 3},
        {"kind": "corrected", "target": "3", "changes": {"launch": 4}},
    ),
    "a kind that is no text": (*READY, {"kind": ["landed"], "launch": 1}, {"kind": None, "launch": 2}),
    "whole numbers that are none": (
        {"kind": "session", "outing": 2},
        {"kind": "prepared", "preparation": "P1", "strips": HUGE},
        {"kind": "prepared", "preparation": "P2", "strips": HUGE - 1 - 2**53},
        {"kind": "set_up", "set_up": HUGE},
    ),
    "a version that is no number": (
        *READY,
        {"kind": "set_aside", "version": True, "launch": 1, "cause": "x"},
    ),
    "what frames the day mended": (
        {"kind": "session", "outing": "first"},
        {"kind": "corrected", "target": "0", "changes": {"outing": 2}},
        {"kind": "prepared", "preparation": "P1", "grams": "four"},
        {"kind": "corrected", "target": "2", "changes": {"grams": 4}},
        {"kind": "prepared", "preparation": "P2", "launch": 2},
        {"kind": "set_up", "set_up": "1", "launch": 1},
        {"kind": "corrected", "target": "5", "changes": {"set_up": 1}},
    ),
    "whole numbers that are none, below nought": (
        {"kind": "session", "outing": 2},
        {"kind": "prepared", "preparation": "P1", "strips": -HUGE},
        {"kind": "prepared", "preparation": "P2", "strips": HUGE - 2**54},
    ),
    "of two corrections of a correction the last stands": (
        *READY,
        {"kind": "landed", "launch": 1},
        {"kind": "corrected", "target": "3", "withdrawn": True},
        {"kind": "corrected", "target": "4", "withdrawn": True},
        {"kind": "corrected", "target": "4", "why": "it did come to its mark"},
    ),
    "a correction that makes a reading unread": (
        *READY,
        {"kind": "landed", "launch": 1},
        {"kind": "read", "launch": 1, "text": "5.2", "value": 5.2},
        {"kind": "corrected", "target": "4", "text": "5.2?", "value": 5.2, "unread": True},
    ),
    PRACTICE: (*READY, {"kind": "landed", "launch": 1}, {"kind": "landed", "launch": 2}),
    "a bound said once needs no reading": (
        *READY,
        {"kind": "at_least", "launch": 1, "value": 7.5},
        {"kind": "at_least", "launch": 1},
        {"kind": "at_least", "launch": 2},
    ),
    "two phones with names beyond the alphabet correct one record": (
        *READY,
        {"kind": "landed", "launch": 1},
        {"device": BELOW, "id": "one", "kind": "corrected", "target": "3", "launch": 2, "withdrawn": True},
        {"device": ABOVE, "id": "other", "kind": "corrected", "target": "3", "launch": 2},
    ),
    "two records of one number correct one record": (
        *READY,
        {"kind": "landed", "launch": 1},
        {"sequence": 9, "id": ABOVE, "kind": "corrected", "target": "3"},
        {"sequence": 9, "id": BELOW, "kind": "corrected", "target": "3", "withdrawn": True},
    ),
}
"""Bodies in the order of one phone; the id of each is its place, where nothing else is said."""


def odd_day(name: str) -> dict[str, Any]:
    """One of them with what it comes to: ``{plan, drafts, expected}``, plain values."""
    plan = phone_plan(study(), schedule(blocks=1, launches=1), fingerprint=FINGERPRINT)
    if name == PRACTICE:
        plan["launches"][0]["kind"] = "practice"
    drafts = [
        {
            "id": body.get("id", str(place)),
            "device": body.get("device", "phone"),
            "sequence": body.get("sequence", place + 1),
            "device_time": "2026-01-17T09:00:00Z",
            "body": {"version": 1} | {key: body[key] for key in body if key not in OF_A_RECORD},
        }
        for place, body in enumerate(ODD_DAYS[name])
    ]
    return {"plan": plan, "drafts": drafts, "expected": expected_of(plan, drafts)}
