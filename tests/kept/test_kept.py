"""Studies of earlier versions: read, replayed and answered as they were then."""

from __future__ import annotations

import hashlib
import json
import math
import shutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from evenglide.answer.study import answer_study
from evenglide.fieldlog.bodies import Noted
from evenglide.fieldlog.chain import find_break
from evenglide.fieldlog.events import Event, canonical, event_from_record
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.sealing import seal_holds
from evenglide.readings.from_log import readings_from_log
from evenglide.steps.sealed_study import sealed_study
from evenglide.store.log import Log, read_log
from tests.walks.command import run

HERE = Path(__file__).parent
FOLDERS = sorted((path for path in HERE.iterdir() if path.name.isdigit()), key=lambda path: int(path.name))
TOLERANCE = 1e-12

Document = dict[str, Any]


@pytest.fixture(params=FOLDERS, ids=lambda path: path.name)
def kept(request: pytest.FixtureRequest) -> Path:
    folder: Path = request.param
    return folder


@pytest.fixture
def copy(kept: Path, tmp_path: Path) -> Path:
    """A copy to work in: reading a database may leave files beside it."""
    return Path(shutil.copytree(kept, tmp_path / "study"))


def loaded(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def lines_of(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines()


def line_of(event: Event) -> bytes:
    return canonical({**event.to_record(), "previous": event.previous, "hash": event.hash})


def written_out(path: Path) -> tuple[Event, ...]:
    """Events of the text file."""
    records = [json.loads(line) for line in lines_of(path)]
    links = [(record.pop("previous"), record.pop("hash")) for record in records]
    return tuple(
        event_from_record(record, previous=previous, hash=hash_)
        for record, (previous, hash_) in zip(records, links, strict=True)
    )


def lacks(expected: Any, found: Any, where: str = "answer") -> list[str]:
    """Say where something found is not what was expected; more than was expected is no lack."""
    if isinstance(expected, dict):
        if not isinstance(found, dict):
            return [where]
        return [
            lack
            for name, value in expected.items()
            for lack in (
                lacks(value, found[name], f"{where}.{name}") if name in found else [f"{where}.{name}"]
            )
        ]
    if isinstance(expected, list):
        return _lacks_of_list(expected, found, where) if isinstance(found, list) else [where]
    numbers = [isinstance(one, int | float) and not isinstance(one, bool) for one in (expected, found)]
    if all(numbers):
        return [] if math.isclose(expected, found, rel_tol=TOLERANCE, abs_tol=TOLERANCE) else [where]
    return [] if expected == found and type(expected) is type(found) else [where]


def _lacks_of_list(expected: list[Any], found: list[Any], where: str) -> list[str]:
    """Remarks and lines bear a code: each must be there, others may have joined them."""
    if expected and all(isinstance(one, dict) and "code" in one for one in expected):
        left = list(found)
        missing = []
        for one in expected:
            match = next((other for other in left if not lacks(one, other)), None)
            if match is None:
                missing.append(f"{where}[{one['code']}]")
            else:
                left.remove(match)
        return missing
    if len(expected) != len(found):
        return [where]
    return [
        lack
        for place, (one, other) in enumerate(zip(expected, found, strict=True))
        for lack in lacks(one, other, f"{where}[{place}]")
    ]


# ------------------------------------------------------------------------------ the files themselves


def test_a_study_is_kept() -> None:
    assert [path.name for path in FOLDERS][:1] == ["1"]


def test_files_are_those_that_were_kept(kept: Path) -> None:
    told = dict(
        reversed(line.split("  ")) for line in (kept / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    )
    assert set(told) | {"SHA256SUMS"} == {path.name for path in kept.iterdir()}
    found = {name: hashlib.sha256((kept / name).read_bytes()).hexdigest() for name in told}
    assert found == told


def test_folders_stand_on_the_page() -> None:
    page = (HERE / "README.md").read_text(encoding="utf-8")
    assert [path.name for path in FOLDERS if f"| `{path.name}` |" not in page] == []


# ------------------------------------------------------------------------------ reading and replaying


def test_the_log_is_read_event_for_event(copy: Path) -> None:
    events = read_log(copy / "log.sqlite")
    assert [line_of(event) for event in events] == lines_of(copy / "events.ndjson")
    assert find_break(events) is None


def test_the_chain_holds_without_a_database(kept: Path) -> None:
    lines = lines_of(kept / "events.ndjson")
    previous = "0" * 64
    for line in lines:
        record = json.loads(line)
        links = record.pop("previous"), record.pop("hash")
        written = json.dumps(record, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
        assert links[0] == previous
        assert links[1] == hashlib.sha256(previous.encode() + written.encode()).hexdigest()
        previous = links[1]


def test_the_seal_holds(kept: Path) -> None:
    sealed = sealed_study(written_out(kept / "events.ndjson"), where="")
    assert seal_holds(sealed.seal)
    assert sealed.seal.study_text.encode() == (kept / "study.toml").read_bytes()
    assert sealed.seal.schedule_text.encode() == (kept / "schedule.csv").read_bytes()


def test_what_the_log_holds_is_counted_as_then(kept: Path) -> None:
    events = written_out(kept / "events.ndjson")
    sealed = sealed_study(events, where="")
    read = readings_from_log(sealed.study, sealed.schedule, sealed.state)
    assert read.launches is not None
    found = {
        "events": Counter(event.body.kind for event in events),
        "devices": Counter(event.device for event in events),
        "launches": len(read.launches.value),
        "set_aside": int(read.launches.void.sum()),
        "at_least": int(read.launches.at_least.sum()),
        "stopped": len(read.stopped),
        "apart": Counter(one.kind for one in read.apart),
        "left_out": {str(reason): list(numbers) for reason, numbers in read.left_out.items()},
        "questions": len(sealed.state.questions),
    }
    assert found == loaded(kept / "expected-counts.json")


# ------------------------------------------------------------------------------ the answer


def test_the_folder_answers_as_then(copy: Path) -> None:
    told = run("answer", copy, "--json")
    assert told.exit_code == 0, told.output
    assert lacks(loaded(copy / "expected-answer.json"), json.loads(told.stdout)) == []


def test_the_events_answer_as_then(kept: Path) -> None:
    events = written_out(kept / "events.ndjson")
    sealed = sealed_study(events, where="")
    answer = answer_study(sealed.study, sealed.schedule, events).answer.to_dict()
    assert lacks(loaded(kept / "expected-answer.json"), json.loads(json.dumps(answer))) == []


def test_status_and_report_are_made(copy: Path) -> None:
    assert run("status", copy).exit_code == 0
    told = run("report", copy)
    assert told.exit_code == 0, told.output
    assert loaded(copy / "expected-answer.json")["provenance"]["last_hash"] in (
        copy / "out" / "report.html"
    ).read_text(encoding="utf-8")


def test_the_log_grows_on_without_a_change_to_what_was_there(copy: Path) -> None:
    with Log(copy / "log.sqlite") as log:
        log.record([(None, Noted(words="looked at again"))])
    events = read_log(copy / "log.sqlite")
    assert [line_of(event) for event in events[:-1]] == lines_of(copy / "events.ndjson")
    assert find_break(events) is None
    assert replay(events).seal is not None


# ------------------------------------------------------------------------------ that this can fail


def small() -> Document:
    return {
        "surfaces": [{"estimate": 0.1, "verdict": "higher", "interval": [0.0, None]}],
        "audit": [{"code": "a", "facts": {"count": 1}}, {"code": "b", "facts": {}}],
    }


def test_more_than_was_known_is_no_lack() -> None:
    more: Document = {**small(), "new": 1, "audit": [{"code": "c"}, *reversed(small()["audit"])]}
    assert lacks(small(), more) == []
    more["surfaces"][0]["estimate"] = math.nextafter(0.1, 1)
    assert lacks(small(), more) == []


@pytest.mark.parametrize(
    ("name", "value", "where"),
    [
        ("estimate", 0.1 + 1e-11, "answer.surfaces[0].estimate"),
        ("estimate", None, "answer.surfaces[0].estimate"),
        ("verdict", "open", "answer.surfaces[0].verdict"),
        ("interval", [0.0, 1.0], "answer.surfaces[0].interval[1]"),
        ("interval", [0.0], "answer.surfaces[0].interval"),
    ],
)
def test_another_answer_is_found_out(name: str, value: object, where: str) -> None:
    other = small()
    other["surfaces"][0][name] = value
    assert lacks(small(), other) == [where]


def test_a_field_or_a_remark_less_is_found_out() -> None:
    other = small()
    del other["surfaces"][0]["verdict"]
    other["audit"][0]["facts"]["count"] = 2
    assert lacks(small(), other) == ["answer.surfaces[0].verdict", "answer.audit[a]"]
