"""What an event says: one model for each kind, versioned, fields it does not know kept.

A body is read leniently: only what places it is required, and a field that this version does not
know stays in it. A body of a kind or version that is not known here is kept as `UnknownBody`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, JsonValue, TypeAdapter

from evenglide.constants import EXACT_INTEGER_LIMIT
from evenglide.fieldlog.body_model import BodyModel, LaunchNumber, Number


class Sealed(BodyModel):
    """Study and schedule, byte for byte, before the first launch."""

    kind: Literal["sealed"] = "sealed"
    version: Literal[1] = 1
    study_text: str
    schedule_text: str
    order_rule: str = ""
    seed: int | None = None
    software: str = ""
    fingerprint: str


class Posted(BodyModel):
    """Where the text of the seal was put before everybody's eyes."""

    kind: Literal["posted"] = "posted"
    version: Literal[1] = 1
    where: str
    when: str = ""


class Session(BodyModel):
    """A day or half-day at one place begins; which outing of the plan, from 1."""

    kind: Literal["session"] = "session"
    version: Literal[1] = 1
    outing: int | None = None
    place: str = ""
    weather: str = ""
    people: list[str] = Field(default_factory=list)


class Block(BodyModel):
    """A round begins."""

    kind: Literal["block"] = "block"
    version: Literal[1] = 1
    block: str


class Prepared(BodyModel):
    """One item was made ready. Cure time, hands-on time: [s]; mass used: [g]."""

    kind: Literal["prepared"] = "prepared"
    version: Literal[1] = 1
    preparation: str
    item: str | None = None
    treatment: str | None = None
    block: str | None = None
    grams: Number | None = None
    batch: str = ""
    who: str = ""
    cure_s: Number | None = None
    hands_on_s: Number | None = None
    strips: int | None = None
    ticks: list[str] = Field(default_factory=list)


class SetUp(BodyModel):
    """The rig was anchored. Zero point: place of the front edge at release along the tape (m)."""

    kind: Literal["set_up"] = "set_up"
    version: Literal[1] = 1
    set_up: int
    surface: str | None = None
    direction: str | None = None
    level: str = ""
    zero_point_m: Number | None = None
    photo: str = ""


class Launched(BodyModel):
    """One release. `order` is said where launches were not made in the order of their numbers.

    Error of the time between release and the beep of a timed mark, as far as the device knows it: [s].
    """

    kind: Literal["launched"] = "launched"
    version: Literal[1] = 1
    launch: LaunchNumber
    order: Number | None = None
    preparation: str | None = None
    set_up: int | None = None
    peg: str = ""
    beep_error_s: Number | None = None


class Landed(BodyModel):
    """A launch came to its mark cleanly: the peg that was planted there, or the clip that shows it."""

    kind: Literal["landed"] = "landed"
    version: Literal[1] = 1
    launch: LaunchNumber
    peg: str = ""
    clip: str = ""


class Read(BodyModel):
    """One reading as it was typed, and its value; an `unread` one has a text only."""

    kind: Literal["read"] = "read"
    version: Literal[1] = 1
    launch: LaunchNumber
    text: str
    value: Number | None = None
    unit: str | None = None
    reader: str = ""
    method: str = ""
    uncertainty: Number | None = None
    unread: bool = False


class AtLeast(BodyModel):
    """The launch left the lane while gliding: its reading, or this value, is a lower bound."""

    kind: Literal["at_least"] = "at_least"
    version: Literal[1] = 1
    launch: LaunchNumber
    value: Number | None = None
    unit: str | None = None


class Stopped(BodyModel):
    """The item stopped before the time of the mark."""

    kind: Literal["stopped"] = "stopped"
    version: Literal[1] = 1
    launch: LaunchNumber


class SetAside(BodyModel):
    """The launch does not count, and why; whether its distance was known when that was decided."""

    kind: Literal["set_aside"] = "set_aside"
    version: Literal[1] = 1
    launch: LaunchNumber
    cause: str
    value_seen: bool | None = None


class PegLost(BodyModel):
    """The mark of a launch was lost before it was read."""

    kind: Literal["peg_lost"] = "peg_lost"
    version: Literal[1] = 1
    launch: LaunchNumber


class Skipped(BodyModel):
    """Launches of the plan that will not be made, for want of time or another reason."""

    kind: Literal["skipped"] = "skipped"
    version: Literal[1] = 1
    launches: list[LaunchNumber]
    why: str = ""


class Elsewhere(BodyModel):
    """Launches that are recorded elsewhere: a phone does not ask for them, and nothing is left out.

    `how`: "paper", "another phone", or nothing where it was not said.
    """

    kind: Literal["elsewhere"] = "elsewhere"
    version: Literal[1] = 1
    launches: list[LaunchNumber]
    how: str = ""


class RoundEnded(BodyModel):
    """The coats of a round were taken off, with what was ticked for that."""

    kind: Literal["round_ended"] = "round_ended"
    version: Literal[1] = 1
    block: str
    ticks: list[str] = Field(default_factory=list)


class CoatDamaged(BodyModel):
    """Something happened to a coat."""

    kind: Literal["coat_damaged"] = "coat_damaged"
    version: Literal[1] = 1
    preparation: str
    words: str = ""


class Corrected(BodyModel):
    """Another event, of id `target`, should have said something else, or nothing at all.

    `text`, `value` and `unit` speak of a reading; `changes` holds new values of any other fields.
    A correction may itself be the target of a correction.
    """

    kind: Literal["corrected"] = "corrected"
    version: Literal[1] = 1
    target: str
    launch: LaunchNumber | None = None
    text: str | None = None
    value: Number | None = None
    unit: str | None = None
    unread: bool = False
    withdrawn: bool = False
    changes: dict[str, JsonValue] = Field(default_factory=dict)
    why: str = ""


class Noted(BodyModel):
    """A remark, on a launch or on the day."""

    kind: Literal["noted"] = "noted"
    version: Literal[1] = 1
    words: str
    launch: LaunchNumber | None = None


class Condition(BodyModel):
    """Something measured or seen of the surroundings."""

    kind: Literal["condition"] = "condition"
    version: Literal[1] = 1
    name: str
    value: Number | None = None
    unit: str | None = None
    words: str = ""


class Guess(BodyModel):
    """What somebody who was not told takes a preparation for."""

    kind: Literal["guess"] = "guess"
    version: Literal[1] = 1
    preparation: str
    treatment: str
    who: str = ""


class WearCheck(BodyModel):
    """A launch at the end of a coat, on its first surface."""

    kind: Literal["wear_check"] = "wear_check"
    version: Literal[1] = 1
    preparation: str
    launch: LaunchNumber | None = None


class ReturnToBare(BodyModel):
    """A launch that shows whether a strip is complete."""

    kind: Literal["return_to_bare"] = "return_to_bare"
    version: Literal[1] = 1
    preparation: str
    launch: LaunchNumber | None = None


class Incident(BodyModel):
    """Something went wrong that belongs to no single launch."""

    kind: Literal["incident"] = "incident"
    version: Literal[1] = 1
    words: str


class Look(BodyModel):
    """The launches so far were analysed: as the check `planned`, or when no check was planned.

    `launches`: how many were made by then.
    """

    kind: Literal["look"] = "look"
    version: Literal[1] = 1
    number: int
    planned: int | None = None
    launches: int | None = None


class Reveal(BodyModel):
    """The people from whom treatments were hidden were told."""

    kind: Literal["reveal"] = "reveal"
    version: Literal[1] = 1


class Merged(BodyModel):
    """Another copy of this log was taken in; its last hash before that."""

    kind: Literal["merged"] = "merged"
    version: Literal[1] = 1
    device: str
    old_last_hash: str


class Conflicting(BodyModel):
    """A second body arrived under an id that was taken; it is kept here and not applied."""

    kind: Literal["conflicting"] = "conflicting"
    version: Literal[1] = 1
    event: str
    body: dict[str, JsonValue]


class UnknownBody(BodyModel):
    """A body that this version does not understand, kept as it came."""

    kind: str
    content: dict[str, JsonValue]

    def to_dict(self) -> dict[str, Any]:
        """Return what came."""
        return dict(self.content)


KnownBody = Annotated[
    Sealed
    | Posted
    | Session
    | Block
    | Prepared
    | SetUp
    | Launched
    | Landed
    | Read
    | AtLeast
    | Stopped
    | SetAside
    | PegLost
    | Skipped
    | Elsewhere
    | RoundEnded
    | CoatDamaged
    | Corrected
    | Noted
    | Condition
    | Guess
    | WearCheck
    | ReturnToBare
    | Incident
    | Look
    | Reveal
    | Merged
    | Conflicting,
    Field(discriminator="kind"),
]
Body = KnownBody | UnknownBody

_KNOWN: TypeAdapter[KnownBody] = TypeAdapter(KnownBody)


def parse_body(content: Mapping[str, Any]) -> Body:
    """Read a body from plain values.

    Parameters
    ----------
    content : mapping
        As `BodyModel.to_dict` gives it.

    Returns
    -------
    Body
        `UnknownBody` where the kind or version is not known here, or a field holds what it may not:
        what somebody recorded is kept even then.
    """
    try:
        if isinstance(content.get("version"), bool):  # to Python, true is 1
            raise ValueError("a version is a number")
        return _KNOWN.validate_python(dict(content))
    except ValueError:
        kind = content.get("kind")
        return UnknownBody(kind=kind if isinstance(kind, str) else "", content=dict(content))


def launch_of(body: Body) -> int | None:
    """Number of the launch that a body speaks of; None if it speaks of none."""
    number = body.content.get("launch") if isinstance(body, UnknownBody) else getattr(body, "launch", None)
    if isinstance(number, int) and not isinstance(number, bool) and 1 <= number < EXACT_INTEGER_LIMIT:
        return number
    return None
