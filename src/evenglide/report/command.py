"""The command line that repeats a judgement."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import fields

from evenglide.intake.options import JudgeOptions, flag_of


def judge_command(source: str, options: JudgeOptions) -> str:
    """Write the command that judges a table again with the same options.

    Parameters
    ----------
    source : str
        The table, as it was named.
    options : JudgeOptions

    Returns
    -------
    str
        One line for a POSIX shell; what was left at its default is left out.

    Examples
    --------
    >>> judge_command("my launches.csv", JudgeOptions(response="d", treatment="wax", matters="5 %"))
    "evenglide judge 'my launches.csv' --response d --treatment wax --matters '5 %'"
    """
    return shlex.join(["evenglide", "judge", source, *_arguments(options)])


def _arguments(options: JudgeOptions) -> Iterator[str]:
    for field in fields(options):
        value = getattr(options, field.name)
        if value in (None, (), field.default):
            continue
        if value is True:
            yield flag_of(field.name)
            continue
        for one in value if isinstance(value, tuple) else (value,):
            yield flag_of(field.name)
            yield str(one)
