"""The JSON Schema of study.toml, made from the models that read it."""

from __future__ import annotations

from typing import Any

from evenglide.study.document_models import STUDY_FORMAT, TABLES, StudyDocument

_REQUIRED = {table.__name__: list(table.required) for table in TABLES.values() if table.required}


def schema_of_document() -> dict[str, object]:
    """Return the schema: what must be there is required, and nothing may be null."""
    made = _without_null(StudyDocument.model_json_schema(by_alias=True))
    for name, table in made["$defs"].items():
        if name in _REQUIRED:
            table["required"] = _REQUIRED[name]
    made["required"] = list(StudyDocument.required)
    made["title"] = STUDY_FORMAT
    made["description"] = (
        "A study: one question being settled. Written in TOML, with quantities as texts with a unit."
    )
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}


def _without_null(schema: Any) -> Any:
    """Take out the null branches: TOML has no null, a key that is not known is left out."""
    if isinstance(schema, list):
        return [_without_null(entry) for entry in schema]
    if not isinstance(schema, dict):
        return schema
    if "anyOf" in schema:
        branches = [branch for branch in schema["anyOf"] if branch != {"type": "null"}]
        if len(branches) == 1:
            rest = {key: value for key, value in schema.items() if key != "anyOf"}
            schema = {**branches[0], **rest}
    return {
        key: _without_null(value) for key, value in schema.items() if not (key == "default" and value is None)
    }
