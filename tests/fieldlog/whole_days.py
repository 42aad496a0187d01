"""Odd days as two phones record them, and the same days as a list on paper, from a source of chance."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field

from evenglide.fieldlog.bodies import (
    AtLeast,
    Body,
    Corrected,
    Landed,
    Launched,
    Noted,
    PegLost,
    Read,
    SetAside,
    Skipped,
    Stopped,
)
from evenglide.fieldlog.events import Draft, derived_id
from evenglide.study.schedule import Schedule, ScheduledLaunch
from tests.fieldlog.made_up import CAUSE, readings

PHONES = ("late phone", "phone")
COLUMNS = ("launch", "distance", "at least", "set aside", "value seen", "stopped", "peg lost", "order made")
ENDS = ("clean", "set aside", "at least", "stopped", "lost", "not read", "skipped", "never made")
OFTEN = (16, 3, 3, 3, 2, 1, 1, 1)
TIMED = "melt pan"


@dataclass(slots=True)
class WholeDay:
    """A day as it was recorded, and as a list would tell it; `bounds`: readings that only a list calls so."""

    drafts: list[Draft] = field(default_factory=list)
    rows: list[dict[str, str]] = field(default_factory=list)
    bounds: int = 0

    def add(self, phone: str, body: Body) -> str:
        """Record something; return its id."""
        number = 1 + sum(draft.device == phone for draft in self.drafts)
        made = Draft(
            id=derived_id("whole day", phone, number),
            device=phone,
            sequence=number,
            device_time=f"2026-01-17T09:00:{number % 60:02d}Z",
            body=body,
        )
        self.drafts.append(made)
        return made.id

    def listed(self) -> str:
        """The list on paper."""
        rows = [",".join(row.get(column, "") for column in COLUMNS) for row in self.rows]
        return "\n".join([",".join(COLUMNS), *rows]) + "\n"


def whole_day(plan: Schedule, chance: random.Random) -> WholeDay:
    """Draw a day; each launch is recorded by one phone and corrected by any."""
    day = WholeDay()
    texts = readings(plan, seed=chance.randrange(1000))
    for launch in plan.launches:
        phone = chance.choices(PHONES, weights=[1, 3])[0]
        end = chance.choices(ENDS, weights=OFTEN)[0]
        if end == "stopped" and launch.surface != TIMED:
            end = "clean"
        day.rows.append({"launch": str(launch.number), **_recorded(day, launch, phone, end, texts, chance)})
    return day


def _recorded(
    day: WholeDay,
    launch: ScheduledLaunch,
    phone: str,
    end: str,
    texts: dict[int, str],
    chance: random.Random,
) -> dict[str, str]:
    """Record one launch; return what a list says of it."""
    number, text = launch.number, texts[launch.number]
    if end == "never made":
        return {}
    if end == "skipped":
        day.add(phone, Skipped(launches=[number], why="the tide"))
        return {}
    _taken_back(day, number, phone, chance)
    day.add(phone, Launched(launch=number))
    if end == "set aside":
        return _set_aside(day, number, phone, text, chance)
    day.add(phone, Landed(launch=number, peg=str(1 + number % 6)))
    if end == "not read":
        return {"order made": str(number)}
    if end == "stopped":
        day.add(phone, Stopped(launch=number))
    said = {"stopped": "yes"} if end == "stopped" else {}
    if end == "lost":
        if chance.random() < 0.5:
            day.add(phone, AtLeast(launch=number))
        day.add(phone, PegLost(launch=number))
        return {"peg lost": "yes"}
    if end == "at least":
        said = {"at least": "yes"}
        text = repr(float(text))
        if chance.random() < 0.4:
            day.add(phone, AtLeast(launch=number, value=float(text), unit="m"))
            day.bounds += 1
            return said | {"distance": text}
        day.add(phone, AtLeast(launch=number))
    _read(day, number, phone, text, chance)
    return said | {"distance": text}


def _set_aside(day: WholeDay, number: int, phone: str, text: str, chance: random.Random) -> dict[str, str]:
    """Set aside before or after it was read, or without; said to be known, unknown, or nothing of it."""
    order = chance.choice(["alone", "aside first", "read first", "read and taken back first"])
    seen = True if order.startswith("read") else chance.choice([False, None])
    known = chance.choice([True, None]) if seen else seen
    aside = SetAside(launch=number, cause=CAUSE, value_seen=known)
    if order.startswith("read"):
        _read(day, number, phone, text, chance)
    if order == "read and taken back first":
        target = next(one.id for one in reversed(day.drafts) if isinstance(one.body, Read))
        day.add(phone, Corrected(target=_latest(day, target), launch=number, withdrawn=True))
    day.add(phone, aside)
    if order == "aside first":
        _read(day, number, phone, text, chance)
    told = {True: "yes", False: "no", None: ""}[seen]
    read = order in ("aside first", "read first")
    return {"set aside": CAUSE, "value seen": told, "distance": text if read else ""}


def _read(day: WholeDay, number: int, phone: str, text: str, chance: random.Random) -> None:
    """Read it right away, or wrongly and corrected once or twice, by this phone or the other."""
    times = chance.choices([0, 1, 2, 3], weights=[6, 2, 2, 1])[0]
    typed = [f"{float(text) + chance.uniform(0.5, 3):.2f}" for _ in range(times)] + [text]
    first = Read(launch=number, text=typed[0], value=float(typed[0]), unit="m", method="tape")
    if times and chance.random() < 0.3:
        first = Read(launch=number, text="five", unread=True)
    latest = target = day.add(phone, first)
    for said in typed[1:]:
        # Of the reading itself or of its last correction; the other phone does not know of later ones.
        on = latest if chance.random() < 0.5 else target
        change = Corrected(target=on, launch=number, text=said, value=float(said), unit="m")
        latest = day.add(phone, change)
    if not times and chance.random() < 0.1:
        day.add(
            PHONES[phone == PHONES[0]], Corrected(target=target, launch=number, text=text, value=float(text))
        )


def _taken_back(day: WholeDay, number: int, phone: str, chance: random.Random) -> None:
    """Records of a launch that did not happen so, each taken back, perhaps twice over."""
    wrong: Iterator[Body] = iter(
        [
            Launched(launch=number),
            Stopped(launch=number),
            AtLeast(launch=number, value=1.0),
            PegLost(launch=number),
            SetAside(launch=number, cause="slow", value_seen=False),
            Noted(words="gust", launch=number),
        ]
    )
    for body in wrong:
        if chance.random() < 0.06:
            target = day.add(phone, body)
            first = day.add(phone, Corrected(target=target, launch=number, withdrawn=True))
            if chance.random() < 0.3:
                by = chance.choice(PHONES)
                day.add(by, Corrected(target=first, launch=number, withdrawn=True, why="still"))


def _latest(day: WholeDay, target: str) -> str:
    """The last correction of a record, which a further one has to name."""
    for draft in day.drafts:
        if isinstance(draft.body, Corrected) and draft.body.target == target:
            target = draft.id
    return target
