"""``evenglide answer`` and ``evenglide report``: what a sealed study says so far."""

from __future__ import annotations

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told

EARLY = "Answer before the end, when no check is planned; the log records it and every report tells it."


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--early", is_flag=True, help=EARLY)
@click.option("--json", "as_json", is_flag=True, help="Print the answer as one JSON object.")
def answer(folder: str, *, early: bool, as_json: bool) -> None:
    """Answer the sealed study in FOLDER from its log."""
    with problems_told(as_json=as_json):
        from evenglide.steps.answer import answer_folder, study_answer_in_words

        answered = answer_folder(folder, early=early)
        if as_json:
            echo_json(answered.found.answer.to_dict())
        else:
            click.echo(study_answer_in_words(answered))


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option(
    "--out", metavar="OUT.html", type=click.Path(), help="Where to write (default: out/report.html)."
)
@click.option("--early", is_flag=True, help=EARLY)
@click.option("--json", "as_json", is_flag=True, help="Print the answer and where the report is as JSON.")
def report(folder: str, *, out: str | None, early: bool, as_json: bool) -> None:
    """Write the report of the sealed study in FOLDER as one HTML file."""
    with problems_told(as_json=as_json):
        from evenglide.steps.answer import report_folder

        answered, path = report_folder(folder, out=out, early=early)
        if as_json:
            echo_json(
                {"format": "evenglide.report/1", "report": path, "answer": answered.found.answer.to_dict()}
            )
        else:
            click.echo(f"Report: {path}")
