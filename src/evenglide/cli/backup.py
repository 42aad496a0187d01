"""``evenglide backup``: a whole copy of a study."""

from __future__ import annotations

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--to", "target", metavar="NEW", type=click.Path(), required=True, help="Folder to make.")
@click.option("--json", "as_json", is_flag=True, help="Print where the copy stands as one JSON object.")
def backup(folder: str, *, target: str, as_json: bool) -> None:
    """Copy the study in FOLDER to a new folder, also while launches are being recorded.

    Example: evenglide backup my-study --to my-study-saturday
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.backup import back_up

        made = back_up(folder, target)
        if as_json:
            echo_json(made.to_dict())
        else:
            click.echo(f"Copied {made.files} files with {made.events} events to {made.path}")
