"""``evenglide plan``: which launches to make, in which order."""

from __future__ import annotations

from typing import Any

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told
from evenglide.constants import EXACT_INTEGER_LIMIT

LARGEST_SEED = EXACT_INTEGER_LIMIT - 1


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option(
    "--blocks", type=click.IntRange(1, 1000), required=True, help="Rounds: fresh preparations each."
)
@click.option(
    "--launches",
    type=click.IntRange(1, 1000),
    required=True,
    help="Launches of each preparation on each surface.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, LARGEST_SEED),
    help="Same seed, same list (default: one is drawn and told).",
)
@click.option("--outings", type=click.IntRange(1), help="Outings over which the rounds are spread.")
@click.option("--replace", is_flag=True, help="Replace a list of launches that is there already.")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as one JSON object.")
def plan(folder: str, *, as_json: bool, **wishes: Any) -> None:
    """Draw the order of the launches of the study in FOLDER and write schedule.csv.

    Example: evenglide plan my-study --blocks 8 --launches 6
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.plan import plan_folder, plan_in_words

        planned = plan_folder(folder, **wishes)
        if as_json:
            echo_json(planned.to_dict())
        else:
            click.echo(plan_in_words(planned))
            click.echo(f"\nList of launches: {planned.path}")
