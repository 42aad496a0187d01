"""Judging small tables in tests: the answer as JSON, held against the contract on every call."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import evenglide
from tests.answer.json_checks import check_answer
from tests.answer.scenarios import scenarios
from tests.tables import ROLES

Document = dict[str, Any]


def judged(table: Mapping[str, Sequence[Any]] | str | Path, **options: Any) -> Document:
    """Judge a table and return its JSON, read back; columns named like a role play it."""
    columns = table if isinstance(table, Mapping) else {}
    roles = {role: role for role in ("response", "treatment", *ROLES) if role in columns}
    chosen = {name: value for name, value in {**roles, **options}.items() if value is not None}
    answer = evenglide.judge(table, **chosen)
    document: Document = json.loads(json.dumps(answer.to_dict(), allow_nan=False))
    check_answer(document, shared=bool(chosen.get("shared_preparations", False)))
    if columns:
        check_order(document, columns, chosen)
    return document


@cache
def answered(name: str) -> Document:
    """Judge a scenario once for all tests that look at it."""
    table, options = dict(scenarios())[name]
    return judged(table, **options)


def check_order(document: Document, columns: Mapping[str, Sequence[Any]], options: Document) -> None:
    """Surfaces and treatments stand in order of first appearance, the reference first."""
    named = options.get("surface")
    surfaces = [None] if named is None else list(dict.fromkeys(str(name) for name in columns[named]))
    assert [surface["surface"] for surface in document["surfaces"]] == surfaces
    treatments = list(dict.fromkeys(str(name) for name in columns[options["treatment"]]))
    first = options.get("reference", treatments[0])
    expected = [first, *(name for name in treatments if name != first)]
    assert [facts["treatment"] for facts in document["surfaces"][0]["treatments"]] == expected
    assert document["family_size"] == (len(treatments) - 1) * len(surfaces)


def only_contrast(document: Document) -> Document:
    """Return the one contrast of an answer that has one."""
    (surface,) = document["surfaces"]
    (contrast,) = surface["contrasts"]
    found: Document = contrast
    return found


def audit_codes(document: Document) -> list[str]:
    """Codes of the audit, in order."""
    return [entry["code"] for entry in document["audit"]]


def note_codes(contrast: Document) -> list[str]:
    """Codes of a contrast's notes, in order."""
    return [note["code"] for note in contrast["notes"]]
