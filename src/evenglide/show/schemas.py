"""From the frozen classes that hold a document to its published JSON Schema."""

from __future__ import annotations

from typing import Any

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def document_schema(kind: type, name: str, description: str) -> dict[str, object]:
    """Make the JSON Schema of a document: the fields of a class, and its format before them.

    Parameters
    ----------
    kind : type
        A frozen class.
    name : str
        The document's format, such as ``"evenglide.answer/1"``.
    description : str

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    body = schema_of(kind)
    return {
        "$schema": DRAFT,
        **body,
        "title": name,
        "description": description,
        "properties": {"format": {"const": name}, **body["properties"]},
        "required": ["format", *body["required"]],
    }


def schema_of(kind: type) -> dict[str, Any]:
    """Make the JSON Schema of a class."""
    from pydantic import TypeAdapter

    return TypeAdapter(kind).json_schema()
