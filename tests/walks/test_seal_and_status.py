"""Sealing a plan and asking where a study stands, as people do it."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest

from evenglide.fieldlog.bodies import Posted, Read, Sealed
from evenglide.store.log import Log, read_log
from tests.walks.command import problems_of, run

NEW = ("--ground", "snow", "--treatment", "paraffin rub", "--stops", "6.0", "6.3")


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "sliders"
    assert run("new", folder, *NEW).exit_code == 0
    return folder


@pytest.fixture
def planned(study: Path) -> Path:
    assert run("plan", study, "--blocks", "4", "--launches", "2", "--seed", "5").exit_code == 0
    return study


def as_json(*arguments: str | Path) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_the_seal_is_the_fingerprint_of_the_files_as_they_stand(planned: Path) -> None:
    sealed = as_json("seal", planned)
    (event,) = read_log(planned / "log.sqlite")
    assert isinstance(event.body, Sealed)
    lines = (
        f"evenglide.seal/1\nstudy.toml {sha256(planned / 'study.toml')}\n"
        f"schedule.csv {sha256(planned / 'schedule.csv')}\n"
        f"order {event.body.seed} {event.body.order_rule}\nversion {sealed['version']}\n"
    )
    assert sealed["fingerprint"] == hashlib.sha256(lines.encode()).hexdigest() == event.body.fingerprint
    assert sealed["text"].endswith(sealed["fingerprint"])
    assert event.body.study_text.encode() == (planned / "study.toml").read_bytes()


def test_windows_lines_are_sealed_byte_for_byte(planned: Path) -> None:
    for name in ("study.toml", "schedule.csv"):
        path = planned / name
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert as_json("seal", planned)["new"]
    (event,) = read_log(planned / "log.sqlite")
    assert isinstance(event.body, Sealed)
    assert event.body.schedule_text.encode() == (planned / "schedule.csv").read_bytes()
    assert as_json("status", planned)["departures"] == []


def test_sealing_twice_adds_nothing(planned: Path) -> None:
    first, second = as_json("seal", planned), as_json("seal", planned)
    assert (first["new"], second["new"]) == (True, False)
    assert first["fingerprint"] == second["fingerprint"]
    assert len(read_log(planned / "log.sqlite")) == 1


def test_where_it_was_posted_is_recorded(planned: Path) -> None:
    as_json("seal", planned)
    edit(planned / "study.toml", 'mass = "unknown"', 'mass = "2 kg"')
    assert as_json("seal", planned, "--posted", "forum", "--when", "Friday")["posted"] == ["forum"]
    body = read_log(planned / "log.sqlite")[-1].body
    assert isinstance(body, Posted)
    assert (body.where, body.when) == ("forum", "Friday")
    assert as_json("status", planned)["posted"] == ["forum, Friday"]
    assert re.search(r"^Posted +forum, Friday$", run("status", planned).stdout, re.MULTILINE)


def test_changed_files_are_not_sealed_again(planned: Path) -> None:
    as_json("seal", planned)
    edit(planned / "study.toml", 'mass = "unknown"', 'mass = "2 kg"')
    assert [one["code"] for one in problems_of(run("seal", planned, "--json"))] == ["sealed-already"]


def test_a_sealed_study_is_not_planned_again(planned: Path) -> None:
    as_json("seal", planned)
    before = sha256(planned / "schedule.csv")
    result = run("plan", planned, "--blocks", "9", "--launches", "2", "--replace", "--json")
    assert [one["code"] for one in problems_of(result)] == ["sealed-already"]
    assert sha256(planned / "schedule.csv") == before


def test_nothing_is_sealed_without_a_list_or_with_a_damaged_one(study: Path) -> None:
    assert [one["code"] for one in problems_of(run("seal", study, "--json"))] == ["no-study-file"]
    run("plan", study, "--blocks", "4", "--launches", "2")
    edit(study / "schedule.csv", "cold powder", "cold porridge")
    assert {one["code"] for one in problems_of(run("seal", study, "--json"))} == {"not-in-study"}
    assert not (study / "log.sqlite").exists()


def test_status_from_the_start_to_the_end(study: Path) -> None:
    def stage() -> str:
        return str(as_json("status", study)["progress"]["stage"])

    assert stage() == "to plan"
    run("plan", study, "--blocks", "2", "--launches", "1", "--seed", "5")
    assert stage() == "to seal"
    run("seal", study)
    assert stage() == "to post"
    run("seal", study, "--posted", "forum")
    assert stage() == "to launch"
    with Log(study / "log.sqlite") as log:
        log.record([(None, Read(launch=number, text="6.0", value=6.0)) for number in range(1, 16)])
    assert as_json("status", study)["progress"]["next_launch"]["number"] == 16
    with Log(study / "log.sqlite") as log:
        log.record([(None, Read(launch=16, text="6.0", value=6.0))])
    assert stage() == "to answer"
    told = run("status", study)
    assert told.exit_code == 0
    assert f"evenglide report {study}" in told.stdout


def test_an_edit_after_the_seal_shows_and_the_sealed_words_stay(planned: Path) -> None:
    as_json("seal", planned)
    edit(planned / "study.toml", "Does paraffin rub", "Does candle wax")
    found = as_json("status", planned)
    assert [one["code"] for one in found["departures"]] == ["study-edited"]
    assert found["title"].startswith("Does paraffin rub")


def test_status_tells_at_once_what_will_not_count(planned: Path) -> None:
    as_json("seal", planned)
    with Log(planned / "log.sqlite") as log:
        log.record([(None, Read(launch=1, text="0", value=0.0)), (None, Read(launch=2, text="6", value=6.0))])
    (told,) = as_json("status", planned)["departures"]
    assert (told["code"], told["facts"]["numbers"]) == ("unusable", [1])
    assert "Nothing of that counts." in " ".join(run("status", planned).stdout.split())


def test_status_tells_no_hidden_treatment(tmp_path: Path) -> None:
    run("new", tmp_path, *NEW, "--hidden-from", "reader")
    run("plan", tmp_path, "--blocks", "2", "--launches", "1")
    run("seal", tmp_path, "--posted", "forum")
    found = as_json("status", tmp_path)["progress"]["next_launch"]
    assert found["treatment"] is None
    assert found["tag"] in run("status", tmp_path).stdout


def test_status_of_a_folder_without_a_study(tmp_path: Path) -> None:
    assert [one["code"] for one in problems_of(run("status", tmp_path, "--json"))] == ["no-study-file"]
