"""Half a day outside of an invented study whose names hold markup: what the laptop's pages have to show."""

from __future__ import annotations

import datetime
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
from tests.field.studies import STUDY, invented_readings, planned, sealed_study

MARKUP = "<img src=x onerror=alert(1)> & <b>bold</b>"
NASTY = (
    STUDY.replace(
        "Does a paraffin rub make the club's snow sliders run farther?", f"Which is faster? {MARKUP}"
    )
    .replace("cold powder", f"cold powder {MARKUP}")
    .replace('name = "slider 1"', f'name = "slider 1 {MARKUP}"')
    .replace("nose under the snow", f"nose under {MARKUP}")
)
BEGIN = datetime.datetime(2026, 1, 17, 8, 30, tzinfo=datetime.UTC)
MINUTE = datetime.timedelta(minutes=1)


def sent(folder: Path, bodies: list[Body], *, device: str = "phone-ada", first: int = 1) -> list[str]:
    """Put records into the log as a phone would, two minutes apart; return their ids."""
    drafts = [
        Draft(
            id=derived_id(device, first + place),
            device=device,
            sequence=first + place,
            device_time=(BEGIN + 2 * (first + place) * MINUTE).isoformat(),
            body=body,
        )
        for place, body in enumerate(bodies)
    ]
    with Log(folder / "log.sqlite") as log:
        log.append(drafts, study=log.sealed)
    return [one.id for one in drafts]


def half_day(folder: Path, *, text: str = NASTY) -> Path:
    """A sealed study: ten launches of sixteen made, eight read, a gap in a phone, a correction."""
    sealed_study(folder, blocks=2, text=text)
    _, schedule = planned(folder)
    texts = invented_readings(schedule)
    bodies: list[Body] = [Session(outing=1, place=f"hut {MARKUP}", people=["Ada"])]
    made: set[object] = set()
    for one in schedule.launches[:10]:
        if one.preparation not in made:
            bodies.append(
                Prepared(
                    preparation=one.preparation, item=one.item, treatment=one.treatment, hands_on_s=900.0
                )
            )
        if one.set_up not in made:
            bodies.append(SetUp(set_up=one.set_up, surface=one.surface, direction=one.direction))
        made |= {one.preparation, one.set_up}
        bodies += [Launched(launch=one.number), Landed(launch=one.number, peg="3")]
        if one.number <= 8:
            value = float(texts[one.number])
            bodies.append(
                Read(launch=one.number, text=texts[one.number], value=value, unit="m", reader="Ada")
            )
    ids = sent(folder, bodies)
    reading = ids[next(place for place, body in enumerate(bodies) if isinstance(body, Read))]
    sent(
        folder,
        [
            Corrected(target=reading, text="6.30", value=6.3, unit="m", why="misheard"),
            Condition(name="wind", value=2.5, unit="m/s", words=f"gusts {MARKUP}"),
            Noted(words=f"a dog {MARKUP}", launch=3),
        ],
        first=len(ids) + 3,
    )
    return folder
