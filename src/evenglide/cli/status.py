"""``evenglide status``: where a study stands and what comes next."""

from __future__ import annotations

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--json", "as_json", is_flag=True, help="Print the status as one JSON object.")
def status(folder: str, *, as_json: bool) -> None:
    """Say where the study in FOLDER stands and what comes next."""
    with problems_told(as_json=as_json):
        from evenglide.steps.status import status_in_words, status_of_folder

        found = status_of_folder(folder)
        if as_json:
            echo_json(found.to_dict())
        else:
            click.echo(status_in_words(folder, found))
