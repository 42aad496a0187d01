"""What the pages print works: every command line and every piece of Python, on small invented tables."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

import click
import pytest
from click.testing import CliRunner, Result

import evenglide
from evenglide.cli.main import main
from evenglide.report.sentences import NO_ANSWER, NO_DIFFERENCE, TOO_CLOSE
from evenglide.report.wording import DISTANCE, NUMBER
from evenglide.show.numbers import NO_BREAK
from evenglide.typing import Scale
from tests.house.tables_of_pages import as_csv, fill_in, short_table, write_tables
from tests.house.tree import ROOT, named, project_files

FENCED = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SHELL = {"sh", "console"}
STATED = re.compile(r"#\s*exit (\d)\s*$")
PROGRAM = "evenglide"
ALONE = {"judge", "demo", "schema"}
"""Commands that need no study."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """A command line of a page and the exit status that the page states."""

    page: str
    words: tuple[str, ...]
    status: int

    def __str__(self) -> str:
        return f"{self.page}: {shlex.join(self.words)}"


def pages() -> list[Path]:
    """Every page of the project."""
    return [path for path in project_files("*.md", "docs") if path.suffix == ".md"]


def blocks(page: Path, languages: set[str]) -> list[str]:
    """Fenced blocks of some languages."""
    return [body for name, body in FENCED.findall(page.read_text(encoding="utf-8")) if name in languages]


def command_lines(page: Path) -> list[str]:
    """Lines of shell on a page, long ones put together again."""
    text = "\n".join(blocks(page, SHELL)).replace("\\\n", " ")
    return [line.strip() for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]


def commands() -> list[Command]:
    """Every command line of evenglide on any page."""
    found = []
    for page in pages():
        for line in command_lines(page):
            words = shlex.split(line, comments=True)
            if Path(words[0]).name == PROGRAM:
                stated = STATED.search(line)
                status = int(stated.group(1)) if stated else 0
                found.append(Command(page=named(page), words=tuple(words[1:]), status=status))
    return found


def led_to(command: Command) -> list[Command]:
    """Commands on a study that stand before this one on its page: a study goes on where it was left."""
    if command.words[0] in ALONE:
        return []
    page = [one for one in commands() if one.page == command.page and one.words[0] not in ALONE]
    return page[: page.index(command)]


def run(command: Command) -> Result:
    """Do what a page says; a list to be filled in is filled in, as the reader does between two commands."""
    told = CliRunner().invoke(main, list(command.words), prog_name=PROGRAM)
    if "--template" in command.words:
        paper, study = (command.words[command.words.index(word) + 1] for word in ("--template", "--study"))
        fill_in(Path(paper), Path(study, "schedule.csv"))
    return told


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the tables of the pages, where no browser opens."""
    write_tables(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("webbrowser.open", lambda address: True)
    return tmp_path


@pytest.mark.parametrize("command", commands(), ids=str)
def test_a_command_line_of_the_pages_ends_as_stated(command: Command, folder: Path) -> None:
    for earlier in led_to(command):
        run(earlier)
    told = run(command)
    assert told.exit_code == command.status, told.output
    assert told.output.strip()
    wanted = [word for word in command.words if word.endswith(".html")]
    assert [name for name in wanted if not (folder / name).is_file()] == []


def test_there_are_command_lines_and_some_that_fail() -> None:
    assert {command.page for command in commands()} >= {"README.md", "docs/judge.md", "docs/answer.md"}
    assert {command.status for command in commands()} == {0, 1, 2}


def test_python_of_the_pages_runs(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pieces = [(named(page), body) for page in pages() for body in blocks(page, {"python"})]
    assert pieces
    for name, body in pieces:
        exec(compile(body, name, "exec"), {})
        assert capsys.readouterr().out.strip(), name


def test_what_the_first_page_shows_is_what_it_makes(folder: Path) -> None:
    page = ROOT / "README.md"
    (table,) = blocks(page, {"csv"})
    made = as_csv(*short_table()).splitlines()
    assert table.splitlines()[:-1] == made[: len(table.splitlines()) - 1]
    assert table.splitlines()[-1] == "..."
    (shown,) = blocks(page, {"text"})
    (words,) = [command.words for command in commands() if "my-launches.csv" in command.words]
    told = CliRunner().invoke(main, list(words)).output.replace(NO_BREAK, " ")
    assert told.splitlines()[: len(shown.splitlines())] == shown.splitlines()


@pytest.mark.parametrize(("name", "least"), [("walk.md", 3), ("rehearse.md", 2), ("plan.md", 1)])
def test_what_a_page_shows_is_what_its_commands_print(name: str, least: int, folder: Path) -> None:
    page = ROOT / "docs" / name
    pieces = FENCED.findall(page.read_text(encoding="utf-8"))
    left = [command for command in commands() if command.page == named(page)]
    last, shown = "", 0
    for language, body in pieces:
        if language in SHELL:
            lines = [line for line in body.replace("\\\n", " ").splitlines() if line.startswith(PROGRAM)]
            for _ in lines:
                last = run(left.pop(0)).output.replace(NO_BREAK, " ")
        elif language == "toml":
            (study,) = folder.glob("*/study.toml")
            study.write_text(f"{study.read_text(encoding='utf-8')}\n{body}", encoding="utf-8")
        elif language == "text":
            shown += 1
            assert body.rstrip("\n") in last
    assert not left and shown >= least


def test_targets_of_make_that_the_pages_name_exist() -> None:
    targets = set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    told = {
        target
        for page in pages()
        for target in re.findall(r"\bmake ([a-z]+)\b(?=[`\s].*#|`)", page.read_text())
    }
    assert {"demo", "test"} <= told
    assert told - targets == set()


def test_files_that_the_pages_run_exist() -> None:
    lines = [line for page in pages() for line in command_lines(page)]
    scripts = {
        word for line in lines if line.startswith("python ") for word in line.split() if word.endswith(".py")
    }
    assert "tools/setup.py" in scripts
    assert [name for name in scripts if not (ROOT / name).is_file()] == []


def options(*names: str) -> set[str]:
    """Every option of some commands, or of all, by its longest name."""
    chosen = [main, *(command for name, command in main.commands.items() if name in names or not names)]
    found = [option for command in chosen for option in command.params if isinstance(option, click.Option)]
    return {max(option.opts, key=len) for option in found}


def told_options(page: Path) -> set[str]:
    """Every option that a page speaks of."""
    text = page.read_text(encoding="utf-8")
    return set(re.findall(r"`(--[a-z-]+)", text)) | set(re.findall(r"`evenglide\s+(--[a-z-]+)", text))


def test_every_option_stands_in_some_page() -> None:
    told = set().union(*(told_options(page) for page in pages()))
    assert options() - told == set()


@pytest.mark.parametrize(
    ("page", "names"),
    [
        ("study.md", ("new",)),
        ("plan.md", ("plan", "seal", "status")),
        ("rehearse.md", ("rehearse",)),
    ],
)
def test_every_option_of_a_study_stands_in_its_page(page: str, names: tuple[str, ...]) -> None:
    own = {"--version", "--json"}
    assert options(*names) - own - told_options(ROOT / "docs" / page) == set()


def test_every_option_stands_in_the_page_of_judge() -> None:
    told, known = told_options(ROOT / "docs" / "judge.md"), options(*ALONE)
    assert len(known) > 20
    assert known - told == set()
    assert told - known - {"--help"} == set()


def test_every_other_way_of_reckoning_stands_in_both_pages(folder: Path) -> None:
    columns = {"response": "distance_m", "treatment": "treatment", "block": "round", "preparation": "coat"}
    flags = {"order": "launch", "void": "set_aside", "at_least": "at_least"}
    answers = [evenglide.judge("launches.csv", **columns, **flags, scale=scale) for scale in get_args(Scale)]
    made = {line.code for answer in answers for line in answer.surfaces[0].contrasts[0].robustness}
    assert len(made) > 10
    table = (ROOT / "docs" / "statistics.md").read_text(encoding="utf-8").partition("## Would another way")[2]
    told = re.findall(r"^\| (`.*?`) \|", table.partition("\n## ")[0], re.MULTILINE)
    assert {code for cell in told for code in re.findall(r"`([a-z-]+)`", cell)} == made
    fields = (ROOT / "docs" / "answer.md").read_text(encoding="utf-8").partition("## Robustness line")[2]
    row = re.findall(r"^\| `code` \|(.*?)\|", fields, re.MULTILINE)[0]
    assert set(re.findall(r"`([a-z-]+)`", row)) == made


def test_the_words_of_the_first_screen_are_explained() -> None:
    page = (ROOT / "docs" / "judge.md").read_text(encoding="utf-8")
    words = [DISTANCE.goes_more, DISTANCE.goes_less, NUMBER.goes_more, NUMBER.goes_less]
    words += [TOO_CLOSE, NO_DIFFERENCE, NO_ANSWER]
    first_cells = "\n".join(re.findall(r"^\| (.*?) \|", page, re.MULTILINE))
    assert [word for word in words if word not in first_cells] == []
