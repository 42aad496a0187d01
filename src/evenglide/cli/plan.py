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
    "--choose", metavar="NUMBER", help='Write the list of one layout: its number, or "recommended".'
)
@click.option("--blocks", type=click.IntRange(1, 1000), help="Rounds: fresh preparations each.")
@click.option(
    "--launches", type=click.IntRange(1, 1000), help="Launches of each preparation on each surface."
)
@click.option(
    "--seed",
    type=click.IntRange(0, LARGEST_SEED),
    help="Same seed, same list (default: one is drawn and told).",
)
@click.option("--outings", type=click.IntRange(1), help="Outings over which the rounds are spread.")
@click.option("--replace", is_flag=True, help="Replace a list of launches that is there already.")
@click.option("--report", metavar="OUT.html", type=click.Path(), help="Write what is offered as one page.")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as one JSON object.")
def plan(folder: str, *, report: str | None, as_json: bool, **wishes: Any) -> None:
    """Say what each hour outside buys, for the study in FOLDER; or draw the list of launches.

    Without numbers nothing is written: layouts, chances, and which one to take. --choose writes schedule.csv
    of one of them, --blocks and --launches that of a layout of your own.

    Example: evenglide plan my-study

    Example: evenglide plan my-study --choose recommended

    Example: evenglide plan my-study --blocks 8 --launches 6
    """
    _check_together(report=report, **wishes)
    with problems_told(as_json=as_json):
        if wishes["choose"] is None and wishes["blocks"] is None:
            _offer(folder, report=report, as_json=as_json)
        else:
            _draw(folder, as_json=as_json, **wishes)


def _offer(folder: str, *, report: str | None, as_json: bool) -> None:
    from evenglide.steps.plan import offer_folder, offer_in_words, write_offer_page

    offered = offer_folder(folder)
    if report is not None:
        write_offer_page(offered, report)
    if as_json:
        echo_json(offered.to_dict())
        return
    click.echo(offer_in_words(offered))
    if report is not None:
        click.echo(f"\nPage: {report}")


def _draw(folder: str, *, as_json: bool, choose: str | None, **wishes: Any) -> None:
    from evenglide.steps.plan import choose_layout, plan_folder, plan_in_words

    if choose is None:
        planned = plan_folder(folder, **wishes)
    else:
        planned = choose_layout(folder, choose, seed=wishes["seed"], replace=wishes["replace"])
    if as_json:
        echo_json(planned.to_dict())
        return
    click.echo(plan_in_words(planned))
    click.echo(f"\nList of launches: {planned.path}")


def _check_together(
    *,
    report: str | None,
    choose: str | None,
    blocks: int | None,
    launches: int | None,
    seed: int | None,
    outings: int | None,
    replace: bool,
) -> None:
    """Refuse options that say different things about what to do."""
    numbers = blocks is not None or launches is not None
    if choose is not None and (numbers or outings is not None):
        raise click.UsageError("--choose takes rounds, launches and outings from the layout: leave them out.")
    if (blocks is None) != (launches is None):
        raise click.UsageError("--blocks and --launches go together.")
    if report is not None and (numbers or choose is not None):
        raise click.UsageError("--report shows what is offered: leave --blocks, --launches, --choose out.")
    if not numbers and choose is None and (seed is not None or outings is not None or replace):
        raise click.UsageError(
            "--seed, --outings and --replace are about a list of launches: say --choose, "
            "or --blocks and --launches, as well."
        )
