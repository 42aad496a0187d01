"""``evenglide seal``: fix the plan before the first launch."""

from __future__ import annotations

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--posted", metavar="WHERE", help="Record where the text was posted.")
@click.option("--when", metavar="TEXT", default="", help="When it was posted there.")
@click.option("--json", "as_json", is_flag=True, help="Print the seal as one JSON object.")
def seal(folder: str, *, posted: str | None, when: str, as_json: bool) -> None:
    """Seal study.toml and schedule.csv in FOLDER, and print the text to post before launch 1.

    Example: evenglide seal my-study --posted "the club's forum, thread 12"
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.seal import seal_folder

        made = seal_folder(folder, posted=posted, when=when)
        if as_json:
            echo_json(made.to_dict())
            return
        click.echo("Sealed." if made.new else "Sealed before; nothing has changed since.")
        click.echo("Posted: " + "; ".join(made.posted) if made.posted else "Post this before launch 1:")
        click.echo(f"\n{made.text}")
