"""``evenglide sheet``: what goes outside with the sealed plan."""

from __future__ import annotations

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--phone", metavar="OUT.html", type=click.Path(), help="Where to write the field page.")
@click.option("--paper", metavar="OUT.pdf", type=click.Path(), help="Where to write the list on paper.")
@click.option("--json", "as_json", is_flag=True, help="Print what was written as one JSON object.")
def sheet(folder: str, *, phone: str | None, paper: str | None, as_json: bool) -> None:
    """Write what goes outside with the sealed study in FOLDER: a page that logs on a phone, a list on paper.

    Send the page to the phone, open it there once with a signal or without, and log. In the evening save
    the records to a file on the phone and take them in: evenglide take-in FILE. Without --phone and --paper
    both are written, into the folder's out/.

    Example: evenglide sheet my-study --phone field.html
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.sheet import make_sheets

        made = make_sheets(folder, phone=phone, paper=paper)
        if as_json:
            echo_json(made.to_dict())
            return
        if made.phone:
            click.echo(f"Field page for a phone: {made.phone}")
            click.echo("It holds the plan and needs no signal. Try it on the phone before you go.")
        if made.paper:
            click.echo(f"List on paper: {made.paper}")
