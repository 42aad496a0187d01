"""``evenglide schema``: the published JSON Schemas."""

from __future__ import annotations

import click

from evenglide.cli.output import echo_json


@click.command()
@click.argument("name", type=click.Choice(["answer", "plan-offer", "problems", "rehearsal", "study"]))
def schema(name: str) -> None:
    """Print the JSON Schema of a document that evenglide reads or writes."""
    from evenglide.answer.schema import answer_schema, problems_schema, rehearsal_schema
    from evenglide.plan.offer_schema import offer_schema
    from evenglide.study.document import study_schema

    schemas = {
        "answer": answer_schema,
        "plan-offer": offer_schema,
        "problems": problems_schema,
        "rehearsal": rehearsal_schema,
        "study": study_schema,
    }
    echo_json(schemas[name]())
