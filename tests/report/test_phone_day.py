"""The phone's replay against the laptop's: the same records come to the same day, in both languages."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterable
from importlib.resources import files
from typing import Any

from playwright.sync_api import Page

from tests.fieldlog.elsewhere_days import partly_elsewhere
from tests.fieldlog.random_days import expected_of, vector
from tests.reference_data import kept_days

RANDOM_DAYS = range(1000, 1200)
REPLAY = """
async ([address, days]) => {
  const { dayOf, plainDay } = await import(address);
  return days.map(({ plan, drafts }) => plainDay(dayOf(plan, drafts)));
}
"""


SET_UPS = """
async ([address, plan, drafts]) => {
  const { dayOf } = await import(address);
  return [...dayOf(plan, drafts).setUps].map(([number, body]) => [number, body.level ?? ""]);
}
"""


def module() -> str:
    """Address of the module that the page reckons with."""
    source = files("evenglide.report").joinpath("phone", "day.js").read_bytes()
    return "data:text/javascript;base64," + base64.b64encode(source).decode("ascii")


def replayed(page: Page, days: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What the module of the page makes of each day."""
    found: list[dict[str, Any]] = page.evaluate(REPLAY, [module(), days])
    return found


def drafted(bodies: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Bodies as one phone records them, one after the other."""
    return [
        {"id": f"{at}", "device": "phone", "sequence": at, "device_time": "", "body": {"version": 1, **body}}
        for at, body in enumerate(bodies, start=1)
    ]


def test_the_phone_makes_of_kept_days_what_the_laptop_makes(page: Page) -> None:
    days = kept_days()
    assert len(days) == 54
    assert replayed(page, days) == [day["expected"] for day in days]


def test_and_of_any_other_day(page: Page) -> None:
    days = [vector(seed) if seed % 2 else partly_elsewhere(seed) for seed in RANDOM_DAYS]
    differing = [
        (seed, mine, day["expected"])
        for seed, day, mine in zip(RANDOM_DAYS, days, replayed(page, days), strict=True)
        if mine != day["expected"]
    ]
    assert differing == []


def test_records_in_any_order_of_arrival_give_the_same_day(page: Page) -> None:
    day = kept_days()[7]
    turned = {**day, "drafts": day["drafts"][::-1]}
    assert replayed(page, [turned]) == [day["expected"]]
    assert json.dumps(turned["drafts"]) != json.dumps(day["drafts"])


def test_what_was_set_up_first_comes_first_and_stands(page: Page) -> None:
    """The page says what moves from the rig that stood last: the last of them, by when it was named first."""
    bodies = [{"set_up": 1, "level": "here"}, {"set_up": 2}, {"set_up": 1, "level": "there"}]
    drafts = [
        {"id": str(at), "device": "p", "sequence": at, "body": {"kind": "set_up", **body}}
        for at, body in enumerate(bodies, start=1)
    ]
    found = page.evaluate(SET_UPS, [module(), kept_days()[0]["plan"], drafts])
    assert found == [[1, "here"], [2, ""]]


def test_a_launch_that_only_a_clip_shows_holds_nobody_up(page: Page) -> None:
    """It stays without a reading, and the walk along the tape goes on without it."""
    plan = vector(1000)["plan"]
    here = [one for one in plan["launches"] if one["block"] == plan["launches"][0]["block"]]
    bodies: list[dict[str, Any]] = [
        {"kind": "session"},
        *({"kind": "launched", "launch": one["number"]} for one in here),
    ]
    bodies += [{"kind": "prepared", "preparation": one["preparation"]} for one in here]
    for clip in ({"clip": "film"}, {"clip": "film", "peg": "2"}):
        landed = [{"kind": "landed", "launch": one["number"], **clip} for one in here]
        drafts = drafted([*bodies, *landed])
        day = expected_of(plan, drafts)
        assert day["unread"] and day["state"] == ("read" if "peg" in clip else "end of coat")
        assert replayed(page, [{"plan": plan, "drafts": drafts}]) == [day]


def test_coats_come_off_before_what_shows_that_they_are_off(page: Page) -> None:
    """Launches that show a strip is complete are made after it, and are launched as any other then."""
    plan = vector(1000)["plan"]
    block = plan["launches"][0]["block"]
    here = [one for one in plan["launches"] if one["block"] == block]
    here[-1]["kind"] = "return to bare"
    bodies: list[dict[str, Any]] = [{"kind": "session"}]
    bodies += [{"kind": "prepared", "preparation": one["preparation"]} for one in here]
    bodies += [{"kind": "set_up", "set_up": one["set_up"]} for one in here]
    for one in here[:-1]:
        bodies += [
            {"kind": "launched", "launch": one["number"]},
            {"kind": "set_aside", "launch": one["number"], "cause": "gust"},
        ]
    for more, state in (([], "end of coat"), ([{"kind": "round_ended", "block": block}], "ready")):
        drafts = drafted([*bodies, *more])
        day = expected_of(plan, drafts)
        assert day["state"] == state and day["next"] == here[-1]["number"]
        assert replayed(page, [{"plan": plan, "drafts": drafts}]) == [day]
