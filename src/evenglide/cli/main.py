"""The command line: parse, call one step, show one result.

Errors become exit statuses here and nowhere else: 0 done; 1 something about the study or table is
wrong; 2 wrong usage; 3 answered, but the verb's own test failed.
"""

from __future__ import annotations

import click

from evenglide.cli.answer import answer, report
from evenglide.cli.backup import backup
from evenglide.cli.demo import demo
from evenglide.cli.judge import judge
from evenglide.cli.new import new
from evenglide.cli.output import show_anything
from evenglide.cli.plan import plan
from evenglide.cli.rehearse import rehearse
from evenglide.cli.schema import schema
from evenglide.cli.seal import seal
from evenglide.cli.serve import serve
from evenglide.cli.sheet import sheet
from evenglide.cli.status import status
from evenglide.cli.take_in import take_in
from evenglide.constants import VERSION


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(VERSION, prog_name="evenglide")
def main() -> None:
    """Settle with evidence whether a treatment of boards, sleds or skis makes them glide farther."""
    show_anything()


main.add_command(answer)
main.add_command(report)
main.add_command(judge)
main.add_command(demo)
main.add_command(new)
main.add_command(plan)
main.add_command(rehearse)
main.add_command(seal)
main.add_command(sheet)
main.add_command(serve)
main.add_command(status)
main.add_command(schema)
main.add_command(take_in)
main.add_command(backup)
