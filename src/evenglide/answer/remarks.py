"""What was noticed while a table was taken in, as audit entries."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from evenglide.intake.remarks import Remark
from evenglide.show.notes import AuditEntry, audit_entry


def audit_of_remarks(remarks: Iterable[Remark]) -> tuple[AuditEntry, ...]:
    """Tell the remarks of the intake in the words of the catalogue."""
    return tuple(
        audit_entry(remark.code, surface=None, severity=None, **_facts(remark)) for remark in remarks
    )


def _facts(remark: Remark) -> dict[str, Any]:
    """Facts of a remark, with lists written out for the sentence."""
    facts: dict[str, Any] = dict(remark.facts)
    if remark.code == "names-alike":
        facts["names"] = "; ".join(" / ".join(f"“{name}”" for name in group) for group in facts["groups"])
    return facts
