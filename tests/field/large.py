"""A log as it might stand after a long season: many records of one sealed study."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count, islice
from pathlib import Path

from evenglide.fieldlog.bodies import (
    Body,
    Condition,
    Corrected,
    Landed,
    Launched,
    Noted,
    Prepared,
    Read,
    Session,
    SetUp,
)
from evenglide.fieldlog.events import Draft, derived_id
from evenglide.store.log import Log
from evenglide.store.study_folder import log_path
from evenglide.study.schedule import Schedule

PHONES = 4


def fill(folder: Path, schedule: Schedule, *, records: int) -> None:
    """Add so many records to the log of a sealed study, as from four phones."""
    with Log(log_path(str(folder))) as log:
        log.append(drafts(schedule, records), study=log.sealed)


def drafts(schedule: Schedule, records: int) -> list[Draft]:
    """Make records: every launch made and read, then remarks, conditions and corrections without end."""
    return [
        Draft(
            id=derived_id("large", number + 1),
            device=f"phone-{number % PHONES}",
            sequence=number // PHONES + 1,
            device_time=f"2026-01-17T{8 + number // 3600 % 12:02}:{number // 60 % 60:02}:{number % 60:02}Z",
            body=body,
        )
        for number, body in enumerate(islice(_bodies(schedule), records))
    ]


def _bodies(schedule: Schedule) -> Iterator[Body]:
    yield Session(outing=1)
    yield from (Prepared(preparation=one) for one in {launch.preparation: 0 for launch in schedule.launches})
    yield from (SetUp(set_up=one) for one in {launch.set_up: 0 for launch in schedule.launches})
    for launch in schedule.launches:
        yield Launched(launch=launch.number)
        yield Landed(launch=launch.number, peg=f"{launch.number % 6 + 1}")
        yield Read(launch=launch.number, text="5.31", value=5.31, unit="m", reader="Ada")
    number = 1 + 3 * len(schedule.launches)
    number += len({launch.preparation for launch in schedule.launches})
    number += len({launch.set_up for launch in schedule.launches})
    for turn in count(1):
        yield Noted(words=f"remark {turn}, invented")
        yield Condition(name="wind", value=float(turn % 9), unit="m/s")
        yield Corrected(target=derived_id("large", number + 1), text=f"remark {turn}, heard better")
        number += 3
