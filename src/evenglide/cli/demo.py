"""``evenglide demo``: the main job on invented data."""

from __future__ import annotations

import sys
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command()
@click.option("--no-browser", is_flag=True, help="Do not open the report.")
@click.option("--json", "as_json", is_flag=True, help="Print where things are as one JSON object.")
def demo(*, no_browser: bool, as_json: bool) -> None:
    """Play an invented study of a hill club's snow sliders from question to report, and open the report.

    Writes into ./evenglide-demo (or -2, -3, ... if that is taken). Every number in it is made up.
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.demo import STAGES, play_demo

        with _stages(len(STAGES), shown=not as_json and sys.stderr.isatty()) as done:
            made = play_demo(done)
        if as_json:
            echo_json({"format": "evenglide.demo/1", "folder": made.folder, "report": made.report})
            return
        click.echo(
            f"{made.words}\n\nEvery number here is invented. What was posted before the first launch:\n"
        )
        click.echo(made.posted)
        click.echo(f"\nStudy:  {made.folder}\nReport: {made.report}")
        click.echo(f"Ask it yourself: evenglide status {made.folder}; evenglide answer {made.folder}")
        if not no_browser:
            webbrowser.open(made.report_address)


@contextmanager
def _stages(total: int, *, shown: bool) -> Iterator[Callable[[str], None]]:
    """Show a progress bar on a terminal, and nothing elsewhere."""
    if not shown:
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("Question", total=total)
        yield lambda stage: progress.update(task, advance=1, description=stage)
