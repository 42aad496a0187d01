"""The page about the log names every kind of event, every column of a list and every problem."""

from __future__ import annotations

import inspect
import re
import subprocess
import sys
from typing import get_args

from evenglide.fieldlog.bodies import KnownBody
from evenglide.intake.list_columns import FILLED, LAUNCH
from evenglide.store import log_backup, log_problems
from tests.house.tree import ROOT

PAGE = (ROOT / "docs" / "log.md").read_text(encoding="utf-8")


def test_every_kind_is_named() -> None:
    kinds = [kind.model_fields["kind"].default for kind in get_args(get_args(KnownBody)[0])]
    told = re.search(r"^Kinds: (.*?)\. Fields", PAGE, re.MULTILINE | re.DOTALL)
    assert told is not None
    assert re.findall(r"`(\w+)`", told[1]) == kinds


def test_every_column_is_named() -> None:
    table = PAGE.partition("| column | holds |")[2].partition("\n\n")[0]
    firsts = re.findall(r"^\| (.*?) \|", table, re.MULTILINE)
    told = {name for cell in firsts for name in re.findall(r"`([\w ]+)`", cell)}
    assert told - {"distance"} == {LAUNCH, *FILLED}


def test_every_problem_is_named() -> None:
    source = inspect.getsource(log_problems) + inspect.getsource(log_backup)
    codes = set(re.findall(r"log_error\(\s*\"([a-z-]+)\"", source))
    table = PAGE.partition("| problem | means |")[2]
    assert set(re.findall(r"`([a-z-]+)`", table)) == codes


def test_judging_a_table_needs_no_log() -> None:
    code = "import sys, evenglide.steps.judge; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    names = set(run.stdout.split())
    assert "evenglide.answer.table" in names
    assert not {name for name in names if name.startswith("evenglide.fieldlog")} | names & {
        "sqlite3",
        "rfc8785",
    }
