"""``evenglide judge``: what a table of launches says, and what it cannot say."""

from __future__ import annotations

from typing import Any

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told


@click.command()
@click.argument("table", type=click.Path())
@click.option("--response", metavar="COL", required=True, help="Column with the readings.")
@click.option("--treatment", metavar="COL", required=True, help="Column with what was done to the gear.")
@click.option(
    "--reference", metavar="NAME", help="Treatment the others are compared with (default: first met)."
)
@click.option("--surface", metavar="COL", help="Column with the surface; each surface gets its own answer.")
@click.option("--block", metavar="COL", help="Column with the round: preparations under like conditions.")
@click.option("--preparation", metavar="COL", help="Column that says which launches share one preparation.")
@click.option("--shared-preparations", is_flag=True, help="One preparation was launched on several surfaces.")
@click.option("--item", metavar="COL", help="Column with the piece of gear.")
@click.option("--order", metavar="COL", help="Column with numbers that give the order of the launches.")
@click.option("--direction", metavar="COL", help="Column with the direction along the lane (at most two).")
@click.option(
    "--mark", metavar="COL", help="Column with how the distance was marked: run-out, timed mark, ..."
)
@click.option("--session", metavar="COL", help="Column with the day or outing.")
@click.option(
    "--stays", metavar="NAME", multiple=True, help="A treatment that does not come off (repeatable)."
)
@click.option(
    "--void", metavar="COL", help="Column that says why a launch was set aside (blank: it was not)."
)
@click.option("--at-least", metavar="COL", help="Column that marks readings which are lower bounds.")
@click.option(
    "--matters", metavar="AMOUNT", help='Smallest difference that would matter: "5 %", "0.3 m", 0.3.'
)
@click.option("--scale", type=click.Choice(["ratio", "difference"]), help="Compare ratios or differences.")
@click.option(
    "--level", type=float, default=0.05, show_default=True, help="Error rate accepted per kind of claim."
)
@click.option(
    "--adjust",
    type=click.Choice(["holm", "both", "none"]),
    default="holm",
    show_default=True,
    help="How surfaces and treatments share that error rate.",
)
@click.option("--sheet", metavar="NAME", help="Sheet of a workbook (default: the first).")
@click.option("--decimal", type=click.Choice([",", "."]), help="Decimal sign of the readings.")
@click.option("--encoding", metavar="NAME", help="Encoding of a text file without a byte order mark.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as one JSON object.")
@click.option("--report", metavar="OUT.html", type=click.Path(), help="Write the report to this file too.")
def judge(table: str, *, as_json: bool, report: str | None, **options: Any) -> None:
    """Judge a TABLE of launches that somebody already has (CSV or XLSX, one row per launch).

    Example: evenglide judge launches.csv --response distance_m --treatment wax --surface snow
    --block round --preparation coat --matters "5 %" --report report.html
    """
    with problems_told(as_json=as_json):
        from evenglide.steps.judge import answer_in_words, judge_table, write_judged

        judged = judge_table(table, options)
        if report is not None:
            write_judged(judged, report)
        if as_json:
            echo_json(judged.answer.to_dict())
        else:
            click.echo(answer_in_words(judged))
            if report is not None:
                click.echo(f"\nReport: {report}")
