"""A phone's file taken in from the command line: once, twice, cut short, from elsewhere."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from evenglide.fieldlog.bodies import Conflicting, Read
from evenglide.show.numbers import NO_BREAK
from evenglide.store.log import read_log
from tests.field.studies import STUDY, sealed_study
from tests.intake.test_phone_log import head, record, text_of
from tests.walks.command import problems_of, run


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return sealed_study(tmp_path / "study", blocks=2)


def seal_of(folder: Path) -> str:
    fingerprint: str = json.loads(run("status", folder, "--json").output)["fingerprint"]
    return fingerprint


def written(folder: Path, *lines: Any, study: str | None = None, **more: Any) -> Path:
    path = folder / "phone.ndjson"
    path.write_text(text_of(head(study=study or seal_of(folder), **more), *lines), encoding="utf-8")
    return path


def taken(path: Path, folder: Path) -> Result:
    return run("take-in", path, "--study", folder)


def told(path: Path, folder: Path) -> dict[str, Any]:
    result = run("take-in", path, "--study", folder, "--json")
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def readings(folder: Path) -> list[Read]:
    return [event.body for event in read_log(folder / "log.sqlite") if isinstance(event.body, Read)]


def test_taken_in_twice_adds_nothing(folder: Path) -> None:
    path = written(folder, *map(record, (1, 2, 3)), records=3)
    first = taken(path, folder)
    assert first.output.replace(NO_BREAK, " ") == f"{path}: 3 new events (3 readings).\n"
    assert "nothing new" in taken(path, folder).output
    document = told(path, folder)
    assert (document["format"], document["new"], document["already"]) == ("evenglide.taken-in/1", 0, 3)
    assert [one.text for one in readings(folder)] == ["5.31"] * 3


def test_a_file_that_was_cut_on_its_way_and_then_came_whole(folder: Path) -> None:
    whole = text_of(head(study=seal_of(folder), records=3), *map(record, (1, 2, 3)))
    path = folder / "phone.ndjson"
    path.write_text(whole[:-40], encoding="utf-8")
    cut = taken(path, folder)
    assert cut.exit_code == 0
    assert "2 new events" in cut.output.replace(NO_BREAK, " ")
    assert "1 more record" in cut.output.replace(NO_BREAK, " ") and "line 4: found" in cut.output
    path.write_text(whole, encoding="utf-8")
    document = told(path, folder)
    assert (document["new"], document["already"]) == (1, 2)
    assert (document["missing"], document["unreadable"]) == (0, [])
    assert len(readings(folder)) == 3


def test_a_letter_damaged_on_its_way_does_not_stand_in_the_way_of_the_sound_one(folder: Path) -> None:
    line = json.dumps(record(1, {"kind": "noted", "version": 1, "words": "Föhn"}), ensure_ascii=False)
    path = written(folder, line)
    sound = path.read_bytes()
    path.write_bytes(sound.replace("ö".encode(), b"\xc3"))
    assert "line 2: found" in taken(path, folder).output
    path.write_bytes(sound)
    document = told(path, folder)
    assert (document["new"], document["conflicts"]) == (1, 0)


def test_an_id_that_something_else_has_is_kept_and_told(folder: Path) -> None:
    assert taken(written(folder, record(1)), folder).exit_code == 0
    other = {"kind": "read", "version": 1, "launch": 1, "text": "9.99", "value": 9.99}
    result = taken(written(folder, record(1, other), record(2)), folder)
    assert "came under an id that is taken" in result.output
    events = read_log(folder / "log.sqlite")
    assert [one.text for one in readings(folder)] == ["5.31", "5.31"]
    kept = [event.body for event in events if isinstance(event.body, Conflicting)]
    assert [one.body["text"] for one in kept] == ["9.99"]


def test_another_study_s_records_are_refused(folder: Path, tmp_path: Path) -> None:
    other = sealed_study(tmp_path / "other", blocks=2, text=STUDY.replace("10 %", "8 %"))
    path = written(folder, record(1), study=seal_of(other))
    before = read_log(folder / "log.sqlite")
    problem = problems_of(run("take-in", path, "--study", folder, "--json"))[0]
    assert (problem["code"], problem["where"], problem["found"]) == (
        "other-study",
        str(path),
        seal_of(other),
    )
    assert read_log(folder / "log.sqlite") == before


def test_a_later_format_is_refused(folder: Path) -> None:
    path = written(folder, record(1), format="evenglide.phone-log/2")
    problem = problems_of(run("take-in", path, "--study", folder, "--json"))[0]
    assert (problem["code"], problem["where"]) == ("unknown-format", f"{path}, line 1")
    assert readings(folder) == []


def test_an_empty_file_is_told(folder: Path) -> None:
    path = folder / "empty.ndjson"
    path.write_bytes(b"")
    assert problems_of(run("take-in", path, "--study", folder, "--json"))[0]["code"] == "empty-table"


def test_a_phone_cannot_put_another_study_in_place_of_this_one(folder: Path) -> None:
    seal = {"kind": "sealed", "version": 1, "study_text": "x", "schedule_text": "y", "fingerprint": "z"}
    document = told(written(folder, record(1, seal), record(2)), folder)
    assert document["new"] == 1 and document["unreadable"][0]["code"] == "unreadable-record"
    assert sum(event.body.kind == "sealed" for event in read_log(folder / "log.sqlite")) == 1
