"""A phone's file of records to drafts: one JSON object a line, the first says of which study.

Nothing that can be read is left behind for a line that cannot.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from evenglide.errors import LogError, Problem
from evenglide.fieldlog.bodies import parse_body
from evenglide.fieldlog.events import Draft, canonical, read_json
from evenglide.show.typed import quoted

PHONE_LOG_FORMAT = "evenglide.phone-log/1"
TEXTS = ("id", "device", "device_time")
OF_THE_LOG = frozenset({"sealed", "merged", "conflicting"})
"""Kinds that only a log itself records: a phone that could seal could put another study in place of ours."""
SHOWN = 60
"""Characters of a broken line that are shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhoneLog:
    """Records of a phone.

    Parameters
    ----------
    study : str
        Fingerprint of the study they belong to.
    drafts : tuple of Draft
        In the order of the file.
    unreadable : tuple of Problem
        Lines that hold no record.
    missing : int
        Records that the first line promises and the file does not hold.
    """

    study: str
    drafts: tuple[Draft, ...]
    unreadable: tuple[Problem, ...]
    missing: int


def is_phone_log(start: str) -> bool:
    """Whether a text begins like a phone's file of records.

    Parameters
    ----------
    start : str
        At least the first line.

    Returns
    -------
    bool
    """
    head = _object(start.lstrip("\ufeff").partition("\n")[0])
    told = (head or {}).get("format")
    return isinstance(told, str) and told.startswith("evenglide.phone-log/")


def read_phone_log(text: str, *, where: str) -> PhoneLog:
    """Read a phone's file of records.

    Parameters
    ----------
    text : str
    where : str
        Name of the file, for problems.

    Returns
    -------
    PhoneLog

    Raises
    ------
    LogError
        ``unknown-format`` of a later version; ``not-a-phone-log`` where the first line says nothing.
    """
    first, *rest = text.lstrip("\ufeff").split("\n")
    head = _object(first) or {}
    study, format_told = head.get("study"), head.get("format")
    if format_told != PHONE_LOG_FORMAT or not isinstance(study, str):
        raise LogError([_no_head(where, format_told)])
    drafts: list[Draft] = []
    unreadable: list[Problem] = []
    for number, line in enumerate(rest, start=2):
        if not line.strip():
            continue
        draft = draft_of(_object(line))
        if draft is None:
            unreadable.append(_broken(where, number, line))
        else:
            drafts.append(draft)
    promised = head.get("records")
    missing = promised - len(drafts) if isinstance(promised, int) and not isinstance(promised, bool) else 0
    return PhoneLog(study=study, drafts=tuple(drafts), unreadable=tuple(unreadable), missing=max(0, missing))


def draft_of(record: Any) -> Draft | None:
    """Make a draft of plain values; None if they are no record.

    A body of a kind that is not known is kept as it came; a record without an id, a device or a number is
    none, because it could be taken in twice; nor is one that only a log itself may hold.
    """
    if not isinstance(record, dict) or not isinstance(record.get("body"), dict):
        return None
    if str(record["body"].get("kind")) in OF_THE_LOG:
        return None
    texts = {name: record.get(name) for name in TEXTS}
    sequence = record.get("sequence")
    if not all(isinstance(text, str) and text for text in texts.values()):
        return None
    if not isinstance(sequence, int) or isinstance(sequence, bool) or not 1 <= sequence < 2**53:
        return None
    try:
        body = read_json(json.dumps(record["body"]))
        canonical([record["device_time"], texts["id"], texts["device"], body])
    except (LogError, ValueError, RecursionError):
        return None
    return Draft(
        id=str(texts["id"]),
        device=str(texts["device"]),
        sequence=sequence,
        device_time=str(texts["device_time"]),
        body=parse_body(body),
    )


def records_of(drafts: Iterable[Draft]) -> list[dict[str, Any]]:
    """Write drafts as the plain values that a phone sends."""
    return [
        {
            "id": one.id,
            "device": one.device,
            "sequence": one.sequence,
            "device_time": one.device_time,
            "body": one.body.to_dict(),
        }
        for one in drafts
    ]


def _object(line: str) -> dict[str, Any] | None:
    try:
        read = read_json(line)
    except (ValueError, RecursionError):
        return None
    return read if isinstance(read, dict) else None


def _no_head(where: str, told: object) -> Problem:
    if isinstance(told, str) and told.startswith("evenglide.phone-log/") and told != PHONE_LOG_FORMAT:
        return Problem(
            code="unknown-format",
            where=f"{where}, line 1",
            found=told,
            expected=PHONE_LOG_FORMAT,
            remedy="A later version wrote it: bring evenglide up to date and take it in again.",
        )
    return Problem(
        code="not-a-phone-log",
        where=f"{where}, line 1",
        found="nothing that says of which study the records are",
        expected=f'"format": "{PHONE_LOG_FORMAT}" and the fingerprint of the study',
        remedy="Save the records on the phone once more, or put their first line back.",
    )


def _broken(where: str, number: int, line: str) -> Problem:
    return Problem(
        code="unreadable-record",
        where=f"{where}, line {number}",
        found=quoted(line.strip()[:SHOWN]),
        expected="one record",
        remedy="The file was cut or changed on its way. Save it on the phone once more and take it in again; "
        "what could be read was taken in.",
    )
