"""Notes and audit entries: remarks with a code, a severity and a sentence filled from facts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from evenglide.show.catalogue import AUDIT, NOTES
from evenglide.typing import Severity

_AGREEING = re.compile(r"\{(?P<name>\w+):(?P<one>[^|}]*)\|(?P<many>[^}]*)\}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark on one contrast.

    Parameters
    ----------
    code : str
        Key of `evenglide.show.catalogue.NOTES`.
    severity : {"limits", "warns", "fine"}
    fields : tuple of str
        Fields of the answer that it speaks of.
    facts : mapping
        Values in the sentence, unrounded.
    text : str
        The sentence.
    """

    code: str
    severity: Severity
    fields: tuple[str, ...]
    facts: Mapping[str, object]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditEntry:
    """One thing that the way the data came about cannot support, or does.

    Parameters
    ----------
    code : str
        Key of `evenglide.show.catalogue.AUDIT`.
    severity : {"limits", "warns", "fine"}
    surface : str or None
        None where it concerns the whole table.
    facts : mapping
        Values in the sentence, unrounded.
    text : str
        The sentence.
    """

    code: str
    severity: Severity
    surface: str | None
    facts: Mapping[str, object]
    text: str


def note(code: str, *fields: str, severity: Severity | None = None, **facts: object) -> Note:
    """Make a note from the catalogue.

    Parameters
    ----------
    code : str
        Key of `evenglide.show.catalogue.NOTES`.
    *fields : str
        Names of the answer's fields that the note speaks of.
    severity : {"limits", "warns", "fine"}, optional
        Default: the catalogue's.
    **facts
        Values for the sentence; kept with the note.

    Returns
    -------
    Note
    """
    entry = NOTES[code]
    return Note(
        code=code,
        severity=severity or entry.severity,
        fields=fields,
        facts=facts,
        text=sentence(agreeing(entry.text, facts), facts),
    )


def audit_entry(
    code: str,
    *,
    surface: str | None = None,
    severity: Severity | None = None,
    **facts: object,
) -> AuditEntry:
    """Make an audit entry from the catalogue; parameters as for `note`, with the surface's name."""
    entry = AUDIT[code]
    return AuditEntry(
        code=code,
        severity=severity or entry.severity,
        surface=surface,
        facts=facts,
        text=sentence(agreeing(entry.text, facts), facts),
    )


def agreeing(text: str, facts: Mapping[str, object]) -> str:
    """Choose singular or plural behind each number of a sentence.

    Examples
    --------
    >>> agreeing("{count:launch was|launches were} lost", {"count": 1})
    '{count} launch was lost'
    """
    return _AGREEING.sub(
        lambda found: f"{{{found['name']}}} {found['one' if facts[found['name']] == 1 else 'many']}", text
    )


def sentence(template: str, facts: Mapping[str, object]) -> str:
    """Fill facts into a sentence; numbers are rounded for reading, the facts keep their digits."""
    return template.format_map({name: _in_words(fact) for name, fact in facts.items()})


def _in_words(fact: object) -> str:
    if isinstance(fact, float):
        return f"{fact:.3g}"
    if isinstance(fact, bool) or not isinstance(fact, int):
        return ", ".join(str(part) for part in fact) if isinstance(fact, tuple) else str(fact)
    return f"{fact:,}"
