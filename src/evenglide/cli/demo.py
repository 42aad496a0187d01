"""``evenglide demo``: the main job on invented data."""

from __future__ import annotations

import webbrowser

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command()
@click.option("--no-browser", is_flag=True, help="Do not open the report.")
@click.option("--json", "as_json", is_flag=True, help="Print where things are as one JSON object.")
def demo(*, no_browser: bool, as_json: bool) -> None:
    """Judge an invented table of a hill club's snow sliders and open the report.

    Writes into ./evenglide-demo (or -2, -3, ... if that is taken). Every number in it is made up.
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.demo import play_demo

        made = play_demo()
        if as_json:
            echo_json({"format": "evenglide.demo/1", "table": made.table, "report": made.report})
        else:
            click.echo(made.words)
            click.echo(
                f"\nTable (invented): {made.table}\nAsk it yourself:  {made.command}\nReport: {made.report}"
            )
        if not no_browser and not as_json:
            webbrowser.open(made.report_address)
