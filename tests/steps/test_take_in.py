"""Taking in and backing up from the command line: a study's folder, lists, workbooks, copies."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from evenglide.cli.backup import backup
from evenglide.cli.take_in import take_in
from evenglide.fieldlog.fold import replay
from evenglide.plan.table import write_schedule
from evenglide.readings.from_log import readings_from_log
from evenglide.show.numbers import NO_BREAK
from evenglide.store.log import Log, read_log
from tests.fieldlog.made_up import CAUSE, STUDY_TEXT, drafts, readings, schedule, sealed, study

PLAN = schedule(blocks=2, launches=2)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sealed study without a launch."""
    place = tmp_path / "study"
    place.mkdir()
    (place / "study.toml").write_text(STUDY_TEXT, encoding="utf-8")
    (place / "schedule.csv").write_text(write_schedule(PLAN), encoding="utf-8")
    with Log(place / "log.sqlite", create=True) as log:
        log.record([(None, sealed(PLAN))])
    return place


def run(*arguments: object) -> Result:
    return CliRunner().invoke(take_in, [str(argument) for argument in arguments])


def events(folder: Path) -> int:
    return len(read_log(folder / "log.sqlite"))


def fill(folder: Path, name: str, **more: str) -> Path:
    """The template, filled in by hand."""
    empty = folder / "empty.csv"
    if not empty.exists():
        assert run("--study", folder, "--template", empty).exit_code == 0
    rows = list(csv.DictReader(io.StringIO(empty.read_text(encoding="utf-8"))))
    for row in rows:
        row["distance"] = more.get(f"launch_{row['launch']}", readings(PLAN)[int(row["launch"])])
    rows[3]["set aside"] = CAUSE
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    (folder / name).write_text(out.getvalue(), encoding="utf-8")
    return folder / name


def test_template_filled_in_and_taken_in_twice(folder: Path) -> None:
    filled = fill(folder, "saturday.csv")
    first = run(filled, "--study", folder)
    assert (first.exit_code, first.output.replace(NO_BREAK, " ")) == (
        0,
        f"{filled}: 17 new events (16 readings).\n",
    )
    again = run(filled, "--study", folder)
    assert "nothing new" in again.output
    changed = json.loads(run(fill(folder, "again.csv", launch_1="7.77"), "--study", folder, "--json").output)
    assert (changed["format"], changed["new"], changed["corrections"]) == ("evenglide.taken-in/1", 1, 1)
    state = replay(read_log(folder / "log.sqlite"))
    made = readings_from_log(study(), PLAN, state)
    assert made.launches is not None
    assert made.launches.value[0] == 7.77
    assert made.launches.void.tolist() == [number == 4 for number in made.numbers]


def test_a_workbook_says_the_same_as_the_text(folder: Path) -> None:
    text = fill(folder, "saturday.csv")
    assert run(text, "--study", folder).exit_code == 0
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(text.read_text(encoding="utf-8"))):
        book.active.append([float(cell) if cell.replace(".", "").isdigit() else cell or None for cell in row])
    book.save(folder / "saturday.xlsx")
    assert "nothing new" in run(folder / "saturday.xlsx", "--study", folder).output


def test_one_doubtful_cell_and_nothing_is_written(folder: Path) -> None:
    before = events(folder)
    doubtful = fill(folder, "doubtful.csv", launch_5="6.1 m", launch_6="?")
    told = run(doubtful, "--study", folder)
    assert told.exit_code == 1
    assert "line 6)" in told.output
    assert "line 7)" in told.output
    document = json.loads(run(doubtful, "--study", folder, "--json").output)
    assert document["format"] == "evenglide.problems/1"
    assert [one["code"] for one in document["problems"]] == ["unit-in-cell", "not-a-number"]
    assert events(folder) == before


def test_doubtful_cells_can_be_kept(folder: Path) -> None:
    doubtful = fill(folder, "doubtful.csv", launch_5="6.1 m")
    told = run(doubtful, "--study", folder, "--keep-doubtful")
    assert told.exit_code == 0
    assert "Kept as text, not counted until corrected:" in told.output
    made = readings_from_log(study(), PLAN, replay(read_log(folder / "log.sqlite")))
    assert made.left_out == {"doubtful": (5,)}
    assert run(fill(folder, "mended.csv"), "--study", folder).exit_code == 0
    assert readings_from_log(study(), PLAN, replay(read_log(folder / "log.sqlite"))).left_out == {}


def test_another_copy_of_the_log_is_taken_in(folder: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    assert CliRunner().invoke(backup, [str(folder), "--to", str(copy)]).exit_code == 0
    assert run(fill(folder, "saturday.csv"), "--study", copy).exit_code == 0
    told = json.loads(run(copy / "log.sqlite", "--study", folder, "--json").output)
    assert (told["new"], told["already"], told["conflicts"]) == (18, 1, 0)
    assert "nothing new" in run(copy / "log.sqlite", "--study", folder).output


def test_a_study_that_is_not_sealed_takes_nothing_in(tmp_path: Path, folder: Path) -> None:
    filled = fill(folder, "saturday.csv")
    (folder / "log.sqlite").unlink()
    told = json.loads(run(filled, "--study", folder, "--json").output)
    assert [one["code"] for one in told["problems"]] == ["no-such-log"]
    with Log(folder / "log.sqlite", create=True) as log:
        log.append(drafts([]))
    told = json.loads(run(filled, "--study", folder, "--json").output)
    assert [one["code"] for one in told["problems"]] == ["not-sealed"]


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ((), 2),
        (("a.csv", "--template", "b.csv"), 2),
        (("none.csv",), 1),
        (("none.csv", "--encoding", "x"), 2),
    ],
)
def test_wrong_usage_and_missing_files(folder: Path, arguments: tuple[str, ...], code: int) -> None:
    assert run(*arguments, "--study", folder).exit_code == code


def test_the_sealed_plan_counts_and_not_the_file(folder: Path) -> None:
    (folder / "schedule.csv").unlink()
    (folder / "study.toml").write_text("nothing", encoding="utf-8")
    assert run(fill(folder, "saturday.csv"), "--study", folder).exit_code == 0


def test_a_backup_holds_everything_and_replaces_nothing(folder: Path, tmp_path: Path) -> None:
    (folder / "media").mkdir()
    (folder / "media" / "5f.jpg").write_bytes(b"picture")
    (folder / "out").mkdir()
    target = tmp_path / "backup"
    told = CliRunner().invoke(backup, [str(folder), "--to", str(target), "--json"])
    assert json.loads(told.output) == {
        "format": "evenglide.backup/1",
        "path": str(target),
        "events": 1,
        "files": 4,
    }
    assert sorted(path.name for path in target.iterdir()) == [
        "log.sqlite",
        "media",
        "schedule.csv",
        "study.toml",
    ]
    again = CliRunner().invoke(backup, [str(folder), "--to", str(target)])
    assert again.exit_code == 1
    nowhere = CliRunner().invoke(backup, [str(folder), "--to", str(tmp_path / "none" / "backup")])
    assert nowhere.exit_code == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup", "study"]
