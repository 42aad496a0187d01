"""The demo: an invented table, its report, and a command that anybody can repeat."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from tests.answer.json_checks import check_answer
from tests.walks.command import names_in, run, run_process


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_demo_writes_a_table_and_a_report(here: Path) -> None:
    result = run("demo", "--no-browser")
    assert result.exit_code == 0 and result.stderr == ""
    folder = here / "evenglide-demo"
    assert names_in(here) == ["evenglide-demo"]
    assert len(names_in(folder)) == 2
    (report,) = folder.glob("*.html")
    page = report.read_text(encoding="utf-8")
    assert "invented" in page.lower()
    assert "invented" in result.stdout and report.name in result.stdout


def test_the_command_that_it_prints_gives_the_same_answer(here: Path) -> None:
    words = run("demo", "--no-browser").stdout
    (line,) = [line for line in words.splitlines() if "evenglide judge" in line]
    command = shlex.split(line[line.index("evenglide judge") :])
    again = run(*command[1:])
    assert again.exit_code == 0
    assert words.startswith(again.stdout.rstrip("\n"))
    document = json.loads(run(*command[1:], "--json").stdout)
    check_answer(document, shared="--shared-preparations" in command)
    assert len(document["surfaces"]) > 1


def test_a_second_demo_leaves_the_first_alone(here: Path) -> None:
    first, second = (json.loads(run("demo", "--json").stdout) for _ in range(2))
    assert names_in(here) == ["evenglide-demo", "evenglide-demo-2"]
    assert first["format"] == "evenglide.demo/1"
    for made in (first, second):
        assert Path(made["table"]).is_file() and Path(made["report"]).is_file()
    assert Path(first["table"]).read_bytes() == Path(second["table"]).read_bytes()


def test_the_demo_as_a_process(tmp_path: Path) -> None:
    done = run_process("demo", "--no-browser", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    assert names_in(tmp_path) == ["evenglide-demo"]
