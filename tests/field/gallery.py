"""Every screen of the field page, put there by records alone, in each condition that it must stand."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.report.phone_page import phone_page
from tests.fieldlog.made_up import schedule, study
from tests.fieldlog.random_days import FINGERPRINT

CONDITIONS = ("normal", "offline", "rejected", "odd value", "long names", "200 % text")
LONG = "Wachstumsgesellschaftsschlittenprototyp of the northern valley, number 2"

MORNING = [{"kind": "session", "outing": 1}]
READY = [
    *MORNING,
    {"kind": "prepared", "preparation": "P1"},
    {"kind": "prepared", "preparation": "P2"},
    {"kind": "set_up", "set_up": 1},
]


def launched(first: int, last: int, *, read: bool = False) -> Iterator[dict[str, Any]]:
    for number in range(first, last + 1):
        yield {"kind": "launched", "launch": number}
        yield {"kind": "landed", "launch": number, "peg": str(1 + (number - 1) % 6)}
    if read:
        for number in range(first, last + 1):
            yield {"kind": "read", "launch": number, "text": "5.94", "value": 5.94, "unit": "m"}


POWDER = [*READY, *launched(1, 6, read=True)]
PAN = [*POWDER, {"kind": "set_up", "set_up": 2}]
ROUND = [*PAN, *launched(7, 12, read=True)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """A screen: the records that lead to it, and the presses from there."""

    name: str
    records: list[dict[str, Any]]
    presses: tuple[str, ...] = ()


SCREENS = (
    Screen(name="morning", records=[]),
    Screen(name="prepare", records=MORNING),
    Screen(name="the key", records=MORNING, presses=("I prepare the gear",)),
    Screen(name="set up", records=READY[:-1]),
    Screen(name="ready", records=READY),
    Screen(name="locked", records=READY, presses=("Wait",)),
    Screen(name="stop", records=READY, presses=("Stop",)),
    Screen(name="short of time", records=READY, presses=("Not as planned",)),
    Screen(name="a second phone", records=[], presses=("Not as planned",)),
    Screen(name="landed", records=[*READY, {"kind": "launched", "launch": 1}]),
    Screen(name="set aside", records=[*READY, {"kind": "launched", "launch": 1}], presses=("Set aside",)),
    Screen(
        name="another cause",
        records=[*READY, {"kind": "launched", "launch": 1}],
        presses=("Set aside", "Another cause"),
    ),
    Screen(name="other peg", records=[*READY, {"kind": "launched", "launch": 1}], presses=("Other peg",)),
    Screen(name="read", records=[*READY, *launched(1, 6)]),
    Screen(name="typing", records=[*READY, *launched(1, 6)], presses=("6", "3", "2")),
    Screen(name="read now", records=[*READY, *launched(1, 3)], presses=("Read now",)),
    Screen(name="move the rig", records=POWDER),
    Screen(name="timed mark", records=PAN),
    Screen(name="countdown", records=PAN, presses=("3 – 2 – 1",)),
    Screen(name="at the beep", records=[*PAN, {"kind": "launched", "launch": 7}]),
    Screen(name="a clip", records=[*PAN, {"kind": "launched", "launch": 7}], presses=("Other peg or clip",)),
    Screen(name="wrong preparation", records=READY, presses=("wrong?", "slider 1 (•• heron) ready")),
    Screen(name="wrong", records=POWDER, presses=("wrong?",)),
    Screen(name="wrong reading", records=POWDER, presses=("wrong?", "6 · ")),
    Screen(name="end of coat", records=ROUND),
    Screen(name="away", records=POWDER, presses=("here",)),
    Screen(name="done", records=[*ROUND, {"kind": "round_ended", "block": "1"}]),
)


def plan(*, long: bool = False, served: bool = False) -> dict[str, Any]:
    """The plan of a short invented day, perhaps with names that nobody should choose."""
    made = phone_plan(study(), schedule(blocks=1, launches=3), fingerprint=FINGERPRINT)
    made["hidden"] = True
    tags = {"slider 1": "•• heron", "slider 2": "••• wren"}
    made["launches"] = [{**one, "tag": tags[one["item"]], "outing": 1} for one in made["launches"]]
    text = json.dumps(made)
    if long:
        for name in ("slider 2", "cold powder", "paraffin rub", "nose under the snow"):
            text = text.replace(name, LONG)
    made = json.loads(text)
    if served:
        made["address"] = "http://127.0.0.1:9/field"  # nobody listens there
    return dict(made)


PUT = """async (bodies) => {
    const app = window.evenglide, { records } = app, device = "phone-of-the-gallery", study = app.plan.study;
    await records.within(["records", "devices", "aside"], "readwrite", async (transaction) => {
        for (const name of ["records", "devices", "aside"]) transaction.objectStore(name).clear();
        transaction.objectStore("devices").put({ study, device, sequence: bodies.length });
        bodies.forEach((body, at) => transaction.objectStore("records").add({
            study, id: `00000000-0000-7000-8000-${String(at + 1).padStart(12, "0")}`,
            device, sequence: at + 1, device_time: "2026-01-17T09:00:00.000+00:00",
            body: { version: 1, ...body }, sent: false,
        }));
    }, "relaxed");
    app.typed.clear();
    app.timers.all.clear();
    Object.assign(app, { asked: null, trouble: "", odd: "", coat: "" });
    await app.refresh();
    app.show();
}"""
REFUSED = """async () => {
    const app = window.evenglide, all = await app.records.all();
    if (all.length) await app.records.mark([all[0].id], "another record has this id");
    app.unpaired = true;
    await app.refresh();
}"""
ODD = """() => {
    window.evenglide.odd = "63.2\\u00a0m is saved, far from the others here (about 5.94). "
        + "Look once more; if it is wrong, press “wrong?”.";
    window.evenglide.show();
}"""


def opened(page: Page, condition: str, folder: Path) -> None:
    """Open the page as a condition wants it; once is enough for every screen."""
    file = folder / f"{condition.split(maxsplit=1)[0]}.html"
    if page.url == file.as_uri():
        return
    if not file.exists():
        served = condition in ("offline", "rejected")
        file.write_text(phone_page(plan(long=condition == "long names", served=served)), encoding="utf-8")
    page.set_default_timeout(8_000)
    if condition == "200 % text":
        session = page.context.new_cdp_session(page)
        session.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    page.goto(file.as_uri())
    expect(page.locator("#screen")).to_be_visible()


def show(page: Page, screen: Screen, condition: str, folder: Path) -> None:
    """Put the records in as the phone would have them, and press on to the screen."""
    opened(page, condition, folder)
    page.evaluate(PUT, screen.records)
    if condition == "rejected":
        page.evaluate(REFUSED)
    if condition == "odd value":
        page.evaluate(ODD)
    for name in screen.presses:
        found = page.get_by_role("button", name=name, exact=len(name) == 1)
        (found.last if len(name) == 1 else found.first).click()
    page.evaluate("() => document.fonts.ready")
