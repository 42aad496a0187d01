"""Telling problems: as text on the error stream, or as one JSON object."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import click

from evenglide.cli.output import echo_json
from evenglide.errors import EvenglideError, OptionError

WRONG_TABLE = 1
WRONG_USAGE = 2


@contextmanager
def problems_told(*, as_json: bool) -> Iterator[None]:
    """Turn every error of the family into words or JSON and an exit status."""
    try:
        yield
    except EvenglideError as error:
        if as_json:
            echo_json(error.to_dict())
        else:
            click.echo(_in_words(error), err=True)
        raise SystemExit(WRONG_USAGE if isinstance(error, OptionError) else WRONG_TABLE) from error


def _in_words(error: EvenglideError) -> str:
    count = len(error.problems)
    lines = [f"{count} problem{'s' if count > 1 else ''}; nothing was written."]
    for problem in error.problems:
        lines += [
            "",
            click.style(problem.where, bold=True),
            f"  found     {problem.found}",
            f"  expected  {problem.expected}",
            f"  do        {problem.remedy}",
        ]
    return "\n".join(lines)
