"""``evenglide schema``: the published JSON Schemas."""

from __future__ import annotations

import json

import click


@click.command()
@click.argument("name", type=click.Choice(["answer", "problems"]))
def schema(name: str) -> None:
    """Print the JSON Schema of a document that evenglide writes."""
    from evenglide.answer.schema import answer_schema, problems_schema

    made = answer_schema() if name == "answer" else problems_schema()
    click.echo(json.dumps(made, ensure_ascii=False, indent=1))
