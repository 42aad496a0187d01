"""The whole trip: a table in, an answer and a report out."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import evenglide
from tests.answer.scenarios import field_day, flagged
from tests.reference_data import data, published
from tests.walks.command import answer_of, csv_of, names_in, problems_of, run, run_process

FIELD = (
    *("--response", "response", "--treatment", "treatment", "--surface", "surface", "--block", "block"),
    *("--preparation", "preparation", "--shared-preparations", "--item", "item", "--order", "order"),
    *("--mark", "mark", "--session", "session", "--void", "void", "--at-least", "at_least"),
    *("--matters", "5 %"),
)
SHOES = ("--response", "wear", "--treatment", "sole", "--block", "boy", "--scale", "difference")


@pytest.fixture
def field(tmp_path: Path) -> Path:
    """A table of every column there is."""
    table = flagged(field_day(blocks=6), "void", {4: "rig moved"})
    path = tmp_path / "field day.csv"
    path.write_text(csv_of(flagged(table, "at_least", {5: "yes"})), encoding="utf-8")
    return path


def test_a_table_with_everything(field: Path) -> None:
    document = answer_of(run("judge", field, *FIELD, "--json"), shared=True)
    assert [surface["surface"] for surface in document["surfaces"]] == ["wet", "dry"]
    assert document["between_surfaces"][0]["method"] == "hotelling"
    wet = document["surfaces"][0]
    assert sum(facts["voids"] for facts in wet["treatments"]) == 1
    assert sum(facts["at_least"] for facts in wet["treatments"]) == 1
    codes = {line["code"] for line in wet["contrasts"][0]["robustness"]}
    assert {"drift", "wear", "first-half", "filled-for"} <= codes
    assert names_in(field.parent) == ["field day.csv"]


def test_words_for_people(field: Path) -> None:
    result = run("judge", field, *FIELD)
    assert result.exit_code == 0 and result.stderr == ""
    assert re.search(r"\b(farther|shorter|too close to call)", result.stdout)
    for word in (r"\bp ?=", r"\bdf\b", r"\bcontrast", r"\blevel\b", "null", "None", "NaN"):
        assert not re.search(word, result.stdout), word
    assert all(len(line) <= 100 for line in result.stdout.splitlines())


def test_a_report_beside_the_answer(field: Path) -> None:
    out = field.parent / "report.html"
    result = run("judge", field, *FIELD, "--report", out)
    assert result.exit_code == 0
    assert str(out) in result.stdout
    page = out.read_text(encoding="utf-8")
    assert page.lower().startswith("<!doctype html>")
    assert "field day.csv" in page and "rub" in page
    assert names_in(field.parent) == ["field day.csv", "report.html"]
    document = answer_of(run("judge", field, *FIELD, "--report", out, "--json"), shared=True)
    assert out.read_text(encoding="utf-8") == page  # the same bytes from the same table
    assert document["provenance"]["data_sha256"] in page


def test_the_same_answer_from_python(field: Path) -> None:
    from_command = answer_of(run("judge", field, *FIELD, "--json"), shared=True)
    answer = evenglide.judge(
        field,
        response="response",
        treatment="treatment",
        surface="surface",
        block="block",
        preparation="preparation",
        shared_preparations=True,
        item="item",
        order="order",
        mark="mark",
        session="session",
        void="void",
        at_least="at_least",
        matters="5 %",
    )
    assert json.loads(json.dumps(answer.to_dict())) == from_command


def test_write_report_from_python(tmp_path: Path) -> None:
    out = tmp_path / "shoes.html"
    options = {"response": "wear", "treatment": "sole", "block": "boy", "scale": "difference"}
    answer = evenglide.write_report(data("shoes"), out, **options)
    assert answer == evenglide.judge(data("shoes"), **options)
    by_command = tmp_path / "by command.html"
    assert run("judge", data("shoes"), *SHOES, "--report", by_command).exit_code == 0
    assert out.read_text(encoding="utf-8") == by_command.read_text(encoding="utf-8")


def test_errors_from_python_carry_their_problems(tmp_path: Path) -> None:
    with pytest.raises(evenglide.OptionError) as options:
        evenglide.judge(data("shoes"), response="wear", treatment="sole", level=2)
    assert options.value.problems[0].code == "bad-level"
    with pytest.raises(evenglide.TableError) as table:
        evenglide.judge(data("shoes"), response="ware", treatment="sole")
    assert "wear" in table.value.problems[0].remedy
    with pytest.raises(evenglide.EvenglideError):
        evenglide.judge(tmp_path / "none.csv", response="a", treatment="b")


def test_as_a_process(tmp_path: Path) -> None:
    # Boys' shoes, Box, Hunter & Hunter (1978) p. 100. V2.
    expected = published("two_samples")["shoes"]
    (tmp_path / "shoes.csv").write_bytes(data("shoes").read_bytes())
    done = run_process("judge", "shoes.csv", *SHOES, "--json", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    (surface,) = json.loads(done.stdout)["surfaces"]
    assert surface["contrasts"][0]["p_difference"] == pytest.approx(expected["p"], rel=1e-12)
    told = run_process("judge", "shoes.csv", *SHOES, folder=tmp_path)
    assert (told.returncode, told.stderr) == (0, b"")
    assert b"\x1b" not in told.stdout  # no colour but on a terminal
    assert names_in(tmp_path) == ["shoes.csv"]


def test_statuses_as_a_process(tmp_path: Path) -> None:
    (tmp_path / "bad.csv").write_text("rub,glide_m\nbare,long\nwax,2\n", encoding="utf-8")
    plain = ("judge", "bad.csv", "--response", "glide_m", "--treatment", "rub")
    done = run_process(*plain, "--report", "out.html", folder=tmp_path)
    assert (done.returncode, done.stdout) == (1, b"")
    assert b'found     "long"' in done.stderr and b"B2 (glide_m, line 2)" in done.stderr
    assert b"Traceback" not in done.stderr and b"\x1b" not in done.stderr
    done = run_process(*plain, "--level", "2", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, b"")
    assert run_process("judge", folder=tmp_path).returncode == 2
    assert names_in(tmp_path) == ["bad.csv"]


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_any_console_can_show_it(encoding: str, tmp_path: Path) -> None:
    # What a pipe or an old console is coded in must not turn an answer into a crash.
    (tmp_path / "t.csv").write_text("skid,größe\nbäre,2.9\nвоск,3.1\nbäre,3\nвоск,3.3\n", encoding="utf-8")
    plain = ("judge", "t.csv", "--response", "größe", "--treatment", "skid")
    console = {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    for arguments, status in (((), 0), (("--json",), 0), (("--reference", "воск3"), 1)):
        done = run_process(*plain, *arguments, folder=tmp_path, environment=console)
        assert b"Traceback" not in done.stderr, done.stderr
        assert done.returncode == status
        if arguments == ("--json",):
            facts = json.loads(done.stdout.decode("utf-8"))["surfaces"][0]["treatments"]
            assert [each["treatment"] for each in facts] == ["bäre", "воск"]


def test_help_and_version(tmp_path: Path) -> None:
    assert run("--version").stdout == f"evenglide, version {evenglide.__version__}\n"
    for arguments in (("--help",), ("-h",), ("judge", "--help"), ("schema", "-h"), ("demo", "--help")):
        result = run(*arguments)
        assert result.exit_code == 0 and "Usage:" in result.stdout
    options = set(re.findall(r"--[a-z-]+", run("judge", "--help").stdout))
    assert {
        *("--response", "--treatment", "--reference", "--surface", "--block", "--preparation"),
        *("--shared-preparations", "--item", "--order", "--direction", "--mark", "--session", "--stays"),
        *("--void", "--at-least", "--matters", "--scale", "--level", "--adjust", "--sheet", "--decimal"),
        *("--encoding", "--json", "--report"),
    } <= options


@pytest.mark.parametrize("name", ["answer", "problems"])
def test_published_schemas(name: str) -> None:
    printed = json.loads(run("schema", name).stdout)
    made = evenglide.answer_schema() if name == "answer" else evenglide.problems_schema()
    assert printed == made
    assert printed["title"] == f"evenglide.{name}/1"
    assert printed["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_a_repeated_option_for_treatments_that_stay(tmp_path: Path) -> None:
    table = tmp_path / "t.csv"
    table.write_text("skid,m,sled\nbare,2.9,a\nwax,3.1,a\noil,3,a\nbare,3.3,a\n", encoding="utf-8")
    plain = ("judge", table, "--response", "m", "--treatment", "skid", "--item", "sled", "--json")
    found = answer_of(run(*plain, "--stays", "wax", "--stays", "oil"))
    carried = {entry["facts"]["treatment"] for entry in found["audit"] if entry["code"] == "carry-over"}
    assert carried == {"wax", "oil"}
    problems = problems_of(run(*plain, "--stays", "tar", "--stays", "waxx"))
    assert [problem["where"] for problem in problems] == ["--stays", "--stays"]


def test_an_answer_shows_itself_in_python_and_in_a_notebook() -> None:
    table = {"m": [2.9, 3.1, 3.0, 3.3], "skid": ["<b>bare</b>", "wax & oil"] * 2}
    answer = evenglide.judge(table, response="m", treatment="skid", matters="5 %")
    told, page = str(answer), answer._repr_html_()
    assert "wax & oil against <b>bare</b>" in told and answer.surfaces[0].contrasts[0].verdict in told
    assert "&lt;b&gt;bare&lt;/b&gt;" in page and "wax &amp; oil" in page and "<b>" not in page
