"""The demo: an invented study from question to report, and commands that anybody can repeat."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.answer.json_checks import check_answer
from tests.walks.command import names_in, run, run_process


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_demo_makes_a_study_and_its_report(here: Path) -> None:
    result = run("demo", "--no-browser")
    assert result.exit_code == 0 and result.stderr == ""
    assert names_in(here) == ["evenglide-demo"]
    folder = here / "evenglide-demo"
    assert {"study.toml", "schedule.csv", "log.sqlite", "out"} <= set(names_in(folder))
    page = (folder / "out" / "report.html").read_text(encoding="utf-8")
    assert "invented" in page.lower() and "invented" in result.stdout


def test_its_study_answers_again_in_the_same_words(here: Path) -> None:
    words = run("demo", "--no-browser").stdout
    again = run("answer", "evenglide-demo")
    assert again.exit_code == 0
    assert words.startswith(again.stdout.rstrip("\n"))
    document = json.loads(run("answer", "evenglide-demo", "--json").stdout)
    check_answer(document, shared=True)
    assert [surface["contrasts"][0]["verdict"] for surface in document["surfaces"]] == [
        "lower",
        "alike",
        "higher",
        "open",
    ]
    assert len(document["conduct"]["objections"]) == 10
    assert document["provenance"]["seal"] in run("status", "evenglide-demo").stdout


def test_a_second_demo_leaves_the_first_alone_and_plans_the_same(here: Path) -> None:
    first, second = (json.loads(run("demo", "--json").stdout) for _ in range(2))
    assert names_in(here) == ["evenglide-demo", "evenglide-demo-2"]
    assert first["format"] == "evenglide.demo/1"
    for made in (first, second):
        assert Path(made["report"]).is_file()
    for name in ("study.toml", "schedule.csv"):
        assert Path(first["folder"], name).read_bytes() == Path(second["folder"], name).read_bytes()
    one, other = (json.loads(run("answer", made["folder"], "--json").stdout) for made in (first, second))
    assert one["surfaces"] == other["surfaces"]


def test_the_demo_as_a_process(tmp_path: Path) -> None:
    done = run_process("demo", "--no-browser", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    assert names_in(tmp_path) == ["evenglide-demo"]
