"""``evenglide schema``: the published JSON Schemas."""

from __future__ import annotations

import click

from evenglide.cli.output import echo_json


@click.command()
@click.argument("name", type=click.Choice(["answer", "problems", "study"]))
def schema(name: str) -> None:
    """Print the JSON Schema of a document that evenglide writes."""
    from evenglide.answer.schema import answer_schema, problems_schema

    echo_json(answer_schema() if name == "answer" else problems_schema())
