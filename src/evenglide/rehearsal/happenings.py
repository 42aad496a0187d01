"""Records of a played schedule, as a phone in the field would have made them.

Times are those of the invented days; ids follow from what they stand for, so the same rehearsal of the same
seal gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from evenglide.fieldlog import bodies
from evenglide.fieldlog.events import Draft, canonical_body, derived_id
from evenglide.plan.day import new_preparations
from evenglide.rehearsal.play import Played, PlayedLaunch
from evenglide.rehearsal.world import World

DEVICE = "rehearsal"
"""Name of the device: nobody shall take invented records for a phone's."""
READING_TIME = timedelta(seconds=8)
"""From peg to peg along the tape."""
METHOD = "invented: played from physics"


@dataclass(slots=True)
class _Phone:
    """Collects records in the order in which they are made; its clock never goes back."""

    sealed: str
    unit: str | None
    method: str
    drafts: list[Draft] = field(default_factory=list)
    clock: datetime | None = None

    def record(self, when: datetime, *said: bodies.Body) -> None:
        """Keep what was said at a time."""
        self.clock = when if self.clock is None else max(self.clock, when)
        for body in said:
            sequence = len(self.drafts) + 1
            content = canonical_body(body).decode("utf-8")
            self.drafts.append(
                Draft(
                    id=derived_id(self.sealed, DEVICE, sequence, content),
                    device=DEVICE,
                    sequence=sequence,
                    device_time=self.clock.isoformat(timespec="seconds"),
                    body=body,
                )
            )


def drafts(
    played: Played, world: World, *, sealed: str, unit: str | None = "m", method: str = METHOD
) -> tuple[Draft, ...]:
    """Write a played schedule as records for the log.

    Parameters
    ----------
    played : Played
    world : World
        In which it was played.
    sealed : str
        Fingerprint of the seal; ids follow from it.
    unit : str or None, optional
        That readings are written in.
    method : str, optional
        How they were made up.

    Returns
    -------
    tuple of Draft
        From one device, in order; whatever is sealed or posted before the first launch is not among them.
    """
    phone = _Phone(sealed=sealed, unit=unit, method=method)
    coats = new_preparations([one.launch for one in played.launches])
    waiting: list[PlayedLaunch] = []
    before: PlayedLaunch | None = None
    for one, fresh in zip(played.launches, coats, strict=True):
        if before is not None and one.launch.set_up != before.launch.set_up:
            waiting = _walk(phone, waiting, world)
        _begin(phone, world, one, before=before)
        if one.moment.prepared is not None:
            made = [
                bodies.Prepared(
                    preparation=first.preparation,
                    item=first.item,
                    treatment=first.treatment,
                    block=first.block,
                )
                for first in fresh
            ]
            phone.record(one.moment.prepared, *made)
        if one.moment.anchored is not None:
            phone.record(one.moment.anchored, _anchored(one))
        phone.record(one.moment.released, *_released(one))
        waiting.append(one)
        if len(waiting) == world.pegs_per_walk:
            waiting = _walk(phone, waiting, world)
        before = one
    _walk(phone, waiting, world)
    _guess(phone, played, world)
    return tuple(phone.drafts)


def _begin(phone: _Phone, world: World, one: PlayedLaunch, *, before: PlayedLaunch | None) -> None:
    """Outing and round, where a new one begins."""
    launch, last = one.launch, before.launch if before is not None else None
    start = one.moment.released - timedelta(hours=one.moment.hours)
    if last is None or launch.outing != last.outing:
        people = list(world.people)
        phone.record(start, bodies.Session(place=world.place, weather=world.weather, people=people))
    if last is None or (launch.outing, launch.block) != (last.outing, last.block):
        first, per_hour = world.air
        degrees = round(first + per_hour * one.moment.hours, 1)
        air = bodies.Condition(name="air temperature", value=degrees, unit="°C")
        phone.record(start, bodies.Block(block=launch.block), air)


def _anchored(one: PlayedLaunch) -> bodies.SetUp:
    """What is recorded once the rig stands."""
    launch = one.launch
    return bodies.SetUp(set_up=launch.set_up, surface=launch.surface, direction=launch.direction)


def _released(one: PlayedLaunch) -> Iterator[bodies.Body]:
    """What is recorded at a release, and right after it where it went wrong."""
    number, preparation = one.launch.number, one.launch.preparation
    if one.launch.kind == "wear check":
        yield bodies.WearCheck(preparation=preparation, launch=number)
    if one.launch.kind == "return to bare":
        yield bodies.ReturnToBare(preparation=preparation, launch=number)
    yield bodies.Launched(launch=number, preparation=preparation, set_up=one.launch.set_up)
    if one.cause and not one.value_seen:
        yield bodies.SetAside(launch=number, cause=one.cause, value_seen=False)


def _walk(phone: _Phone, waiting: Sequence[PlayedLaunch], world: World) -> list[PlayedLaunch]:
    """Read the pegs of several launches in one walk; nothing is left waiting."""
    for steps, one in enumerate(waiting, start=1):
        when = waiting[-1].moment.released + steps * READING_TIME
        phone.record(when, *_read(one, phone, reader=world.people[-1] if world.people else ""))
    return []


def _read(one: PlayedLaunch, phone: _Phone, *, reader: str) -> Iterator[bodies.Body]:
    """What is recorded at a peg."""
    number = one.launch.number
    if one.peg_lost:
        yield bodies.PegLost(launch=number)
    if not one.text:
        return
    yield bodies.Read(
        launch=number,
        text=one.text,
        value=one.value,
        unit=phone.unit,
        reader=reader,
        method=phone.method,
    )
    if one.at_least:
        yield bodies.AtLeast(launch=number)
    if one.stopped:
        yield bodies.Stopped(launch=number)
    if one.cause:
        yield bodies.SetAside(launch=number, cause=one.cause, value_seen=True)


def _guess(phone: _Phone, played: Played, world: World) -> None:
    """What the reader believes of each preparation, asked when all is done."""
    who = world.people[-1] if world.people else ""
    for guess in played.guesses:
        phone.record(
            guess.when, bodies.Guess(preparation=guess.preparation, treatment=guess.treatment, who=who)
        )
