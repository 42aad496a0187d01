"""Calling the command line as people do: in this process for speed, as a process of its own for truth."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from evenglide.cli.main import main
from tests.answer.json_checks import check_answer, check_plain, closed_validator

PLAIN = ("--response", "glide_m", "--treatment", "rub")


def run(*arguments: str | Path) -> Result:
    """Call the command line in this process."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def run_process(
    *arguments: str | Path, folder: Path, environment: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Call the command line as a process of its own in a folder."""
    return subprocess.run(
        [sys.executable, "-m", "evenglide", *map(str, arguments)],
        cwd=folder,
        env={**os.environ, **(environment or {})},
        capture_output=True,
        check=False,
    )


def answer_of(result: Result, *, shared: bool = False) -> dict[str, Any]:
    """Return the one JSON object that a call printed, held against the contract."""
    assert result.exit_code == 0, result.output
    assert result.stderr == ""
    document: dict[str, Any] = json.loads(result.stdout)
    check_answer(document, shared=shared)
    return document


def problems_of(result: Result, *, status: int = 1) -> list[dict[str, str]]:
    """Return the problems that a call printed as JSON, held against their schema."""
    assert result.exit_code == status, result.output
    assert result.stderr == ""
    document = json.loads(result.stdout)
    closed_validator("problems").validate(document)
    check_plain(document)
    problems: list[dict[str, str]] = document["problems"]
    for problem in problems:
        assert all(text.strip() for text in problem.values()), problem
    return problems


def names_in(folder: Path) -> list[str]:
    """Names of everything in a folder, hidden ones too."""
    return sorted(entry.name for entry in folder.iterdir())


def csv_of(columns: Mapping[str, Sequence[Any]], *, separator: str = ",", comma: bool = False) -> str:
    """Write columns as a text table; readings with all of their digits."""

    def text(cell: Any) -> str:
        written = "" if cell is None else repr(cell) if isinstance(cell, float) else str(cell)
        return written.replace(".", ",") if comma and isinstance(cell, float) else written

    lines = [separator.join(columns)]
    lines += [separator.join(map(text, row)) for row in zip(*columns.values(), strict=True)]
    return "\n".join([*lines, ""])
