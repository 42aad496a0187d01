"""``evenglide take-in``: what was recorded on paper, in a spreadsheet, on a phone or another machine."""

from __future__ import annotations

from typing import Any

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command(name="take-in")
@click.argument("source", type=click.Path(), required=False)
@click.option(
    "--study", "folder", type=click.Path(), default=".", help="Folder of the study (default: here)."
)
@click.option("--template", metavar="OUT.csv", type=click.Path(), help="Write the list to fill in, and stop.")
@click.option("--keep-doubtful", is_flag=True, help="Keep doubtful cells as unread readings.")
@click.option("--sheet", metavar="NAME", help="Sheet of a workbook (default: the first).")
@click.option("--decimal", type=click.Choice([",", "."]), help="Decimal sign of the readings.")
@click.option("--encoding", metavar="NAME", help="Encoding of a text file without a byte order mark.")
@click.option("--json", "as_json", is_flag=True, help="Print what was taken in as one JSON object.")
def take_in(source: str | None, *, folder: str, template: str | None, as_json: bool, **options: Any) -> None:
    """Take SOURCE into a sealed study: a filled-in list (CSV or XLSX), a phone's records, a copy of its log.

    The same list again adds nothing; a cell that was changed becomes a correction. One doubtful cell,
    and nothing is written.

    Example: evenglide take-in saturday.csv --study my-study
    """
    if (source is None) == (template is None):
        raise click.UsageError("Name a list to take in, or say --template OUT.csv for an empty one.")
    with problems_told(as_json=as_json):
        from evenglide.steps import take_in as step

        if template is not None:
            launches = step.write_template(folder, template)
            if as_json:
                echo_json({"format": step.TEMPLATE_FORMAT, "path": template, "launches": launches})
            else:
                click.echo(f"List of {launches} launches to fill in: {template}")
            return
        taken = step.take_in(folder, str(source), **options)
        if as_json:
            echo_json(taken.to_dict())
        else:
            click.echo(step.taken_in_words(taken))
