"""The published JSON Schemas, made from the classes that hold an answer."""

from __future__ import annotations

from evenglide.answer.rehearsed import REHEARSAL_FORMAT, Rehearsal
from evenglide.answer.results import ANSWER_FORMAT, Answer
from evenglide.errors import PROBLEMS_FORMAT, Problem
from evenglide.show.schemas import DRAFT, document_schema, schema_of


def answer_schema() -> dict[str, object]:
    """Return the JSON Schema of ``evenglide.answer/1``. Fields may be added to it, never renamed.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    return document_schema(
        Answer, ANSWER_FORMAT, "All verdicts of a table or a study, with what they rest on."
    )


def rehearsal_schema() -> dict[str, object]:
    """Return the JSON Schema of ``evenglide.rehearsal/1``. Fields may be added to it, never renamed.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    told = "How often the answer to a planned study would have been right, open and wrong."
    return document_schema(Rehearsal, REHEARSAL_FORMAT, told)


def problems_schema() -> dict[str, object]:
    """Return the JSON Schema of ``evenglide.problems/1``.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    problem = schema_of(Problem)
    return {
        "$schema": DRAFT,
        "title": PROBLEMS_FORMAT,
        "description": "Everything that is wrong with a table, a study or options.",
        "type": "object",
        "properties": {
            "format": {"const": PROBLEMS_FORMAT},
            "problems": {"type": "array", "items": problem, "minItems": 1},
        },
        "required": ["format", "problems"],
    }
