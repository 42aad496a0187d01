"""Events: what was recorded, by which device, as which of its records; ids and canonical bytes."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import rfc8785
import uuid_utils

from evenglide.constants import EXACT_INTEGER_LIMIT
from evenglide.errors import LogError, Problem
from evenglide.fieldlog.bodies import Body, parse_body

NAMESPACE = uuid.uuid5(uuid.NAMESPACE_OID, "evenglide.log/1")
"""Of the ids that follow from what they stand for (RFC 9562, 5.5)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Something recorded that is not yet in a log.

    Parameters
    ----------
    id : str
        UUID, given where the record was made, so that sending it twice adds nothing.
    device : str
        Where it was recorded.
    sequence : int
        Which record of that device, from 1.
    device_time : str
        What the clock of the device said (RFC 3339).
    body : Body
    """

    id: str
    device: str
    sequence: int
    device_time: str
    body: Body


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One record of a log.

    Parameters
    ----------
    id, device, sequence, device_time, body
        As in `Draft`.
    server_time : str
        When it came into this log (RFC 3339).
    previous : str
        Hash of the event that came before it, 64 hexadecimal digits.
    hash : str
        SHA-256 over `previous` and the canonical bytes of the record.
    """

    id: str
    device: str
    sequence: int
    device_time: str
    server_time: str
    body: Body
    previous: str
    hash: str

    def to_record(self) -> dict[str, Any]:
        """Return what the hash covers beside `previous`, as plain values."""
        return {
            "id": self.id,
            "device": self.device,
            "sequence": self.sequence,
            "device_time": self.device_time,
            "server_time": self.server_time,
            "body": self.body.to_dict(),
        }

    def to_draft(self) -> Draft:
        """Return the record without what this log added to it."""
        return Draft(
            id=self.id,
            device=self.device,
            sequence=self.sequence,
            device_time=self.device_time,
            body=self.body,
        )


def event_from_record(record: Mapping[str, Any], *, previous: str, hash: str) -> Event:
    """Stand a stored record up again.

    Parameters
    ----------
    record : mapping
        As `Event.to_record` gives it.
    previous, hash : str

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is no record of an event.
    """
    texts = {name: record[name] for name in ("id", "device", "device_time", "server_time")}
    sequence = record["sequence"]
    if not all(isinstance(text, str) for text in texts.values()) or not isinstance(sequence, int):
        raise TypeError("a record of an event holds texts and a whole number")
    return Event(
        **texts, sequence=sequence, body=parse_body(dict(record["body"])), previous=previous, hash=hash
    )


def canonical(value: Any) -> bytes:
    """Write plain values as the one JSON text they have (RFC 8785).

    Raises
    ------
    LogError
        ``not-canonical``: NaN, infinity, a whole number past 2^53 or broken text has no such text.

    Examples
    --------
    >>> canonical({"b": 1.0, "a": "é"}).decode()
    '{"a":"é","b":1}'
    """
    try:
        return rfc8785.dumps(value)
    except (rfc8785.CanonicalizationError, UnicodeEncodeError, RecursionError) as error:
        raise LogError(
            [
                Problem(
                    code="not-canonical",
                    where="an event",
                    found=f"a value that cannot be stored ({error})",
                    expected="texts, finite numbers, whole numbers below 2^53",
                    remedy="Record it again, the value as text.",
                )
            ]
        ) from None


def read_json(text: str | bytes) -> Any:
    """Read JSON as RFC 8785 means it: every number is a double, so one past 2^53 is no whole number.

    Read so, whatever `canonical` wrote can be written by it again.

    Raises
    ------
    ValueError, RecursionError
        If it is no JSON, or nested too deep.

    Examples
    --------
    >>> read_json("[7, 35018543885105350]")
    [7, 3.501854388510535e+16]
    """
    return json.loads(text, parse_int=_number)


def _number(digits: str) -> int | float:
    told = float(digits)
    return int(digits) if abs(told) < EXACT_INTEGER_LIMIT else told


def canonical_body(body: Body) -> bytes:
    """Write a body as canonical JSON: two records of one id are the same if these bytes are."""
    return canonical(body.to_dict())


def settled(body: Body) -> Body:
    """Return the body as it will be read from a log: 1.0 written as 1, and so on."""
    return parse_body(read_json(canonical_body(body)))


def new_id() -> str:
    """Make a new id, one that sorts by the time it was made (RFC 9562, UUID version 7)."""
    return str(uuid_utils.uuid7())


def derived_id(*parts: Any) -> str:
    """Make the id that belongs to what it stands for: the same parts give the same id.

    Parameters
    ----------
    *parts
        Plain values, the fingerprint of the study among them.

    Returns
    -------
    str
        UUID version 5.
    """
    return str(uuid.uuid5(NAMESPACE, canonical(list(parts)).decode("utf-8")))
