"""``evenglide rehearse``: how often a plan would be right, open and wrong, before anybody goes outside."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told
from evenglide.constants import EXACT_INTEGER_LIMIT

LARGEST_SEED = EXACT_INTEGER_LIMIT - 1
TIMES, MOST_TIMES = 4096, 10**6


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option(
    "--truth",
    "truths",
    multiple=True,
    metavar="TRUTH",
    help='What is true: none, half, margin, twice, "8 %" or "SURFACE = 8 %; ..."; may be repeated.',
)
@click.option(
    "--trouble",
    "troubles",
    multiple=True,
    metavar="NAME",
    help='What goes wrong, such as set-aside or "drift=10 %"; may be repeated (default: each by itself).',
)
@click.option(
    "--times",
    type=click.IntRange(1, MOST_TIMES),
    default=TIMES,
    show_default=True,
    help="Studies that are played for every truth.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, LARGEST_SEED),
    help="Same seed, same result (default: one is drawn and told).",
)
@click.option("--report", metavar="OUT.html", type=click.Path(), help="Write all of it as a page.")
@click.option(
    "--example", metavar="OUT.html", type=click.Path(), help="Write the report of one invented study."
)
@click.option("--json", "as_json", is_flag=True, help="Print the rehearsal as one JSON object.")
def rehearse(folder: str, *, report: str | None, example: str | None, as_json: bool, **wishes: Any) -> None:
    """Play the plan of the study in FOLDER many times over and tell how often it would have been right.

    Example: evenglide rehearse my-study --trouble set-aside --trouble drift
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.rehearse import Pages, rehearsal_in_words, rehearse_folder

        with _progress(shown=not as_json and sys.stderr.isatty()) as done:
            pages = Pages(report=report, example=example)
            rehearsal = rehearse_folder(folder, pages=pages, done=done, **wishes)
        if as_json:
            echo_json(rehearsal.to_dict())
            return
        click.echo(rehearsal_in_words(rehearsal))
        for what, path in (("Page", report), ("Invented study", example)):
            if path is not None:
                click.echo(f"{what}: {path}")


@contextmanager
def _progress(*, shown: bool) -> Iterator[Callable[[float], None]]:
    """Show a progress bar on a terminal, and nothing elsewhere."""
    if not shown:
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("Playing", total=1.0)
        yield lambda share: progress.update(task, completed=share)
