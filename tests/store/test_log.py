"""The log on disk: it only grows, it loses nothing, and what is wrong with it is told."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from evenglide.errors import LogError
from evenglide.fieldlog.bodies import Body, Conflicting, Launched, Merged, Noted, Read, Sealed
from evenglide.fieldlog.events import Draft
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import LaunchState
from evenglide.store.log import Log, read_log
from evenglide.store.log_backup import backup_log
from evenglide.store.log_schema import MIGRATIONS
from tests.fieldlog.every_kind import BODIES
from tests.fieldlog.made_up import PHONE, drafts, played, schedule, sealed

PLAN = schedule(blocks=2, launches=2)
SEAL = sealed(PLAN)


def clock() -> str:
    return "2026-01-17T20:00:00.000Z"


def begin(path: Path, *bodies: Body) -> Path:
    """A sealed log that holds what a phone recorded."""
    with Log(path, create=True, clock=clock) as log:
        log.record([(None, SEAL)])
        log.append(drafts(bodies))
    return path


@contextmanager
def refused(code: str) -> Iterator[list[LogError]]:
    caught: list[LogError] = []
    with pytest.raises(LogError) as info:
        yield caught
    caught.append(info.value)
    assert [problem.code for problem in info.value.problems] == [code]
    problem = info.value.problems[0]
    assert all([problem.where, problem.found, problem.expected, problem.remedy])


def said_of_launches(path: Path) -> list[LaunchState]:
    """What a log says of its launches, wherever in the replay it was said."""
    return [replace(launch, position=0) for launch in replay(read_log(path)).launches.values()]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return begin(tmp_path / "log.sqlite", *played(PLAN))


def test_every_kind_of_event_comes_back_as_it_went(tmp_path: Path) -> None:
    place = tmp_path / "log.sqlite"
    with Log(place, create=True, clock=clock) as log:
        added = log.append(drafts(BODIES))
        assert log.events() == added.new
    assert read_log(place) == added.new
    assert [event.body for event in added.new] == list(BODIES)


@pytest.mark.parametrize(
    ("pragma", "value"),
    [
        ("journal_mode", "wal"),
        ("synchronous", 2),
        ("fullfsync", 1),
        ("checkpoint_fullfsync", 1),
        ("recursive_triggers", 1),
        ("foreign_keys", 1),
        ("user_version", len(MIGRATIONS)),
    ],
)
def test_every_connection_is_set_up(path: Path, pragma: str, value: object) -> None:
    with Log(path) as log:
        assert log._connection.execute(f"PRAGMA {pragma}").fetchone()[0] == value


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET record = '{}' WHERE arrival = 2",
        "DELETE FROM events WHERE arrival = 2",
        "DELETE FROM events",
        "INSERT OR REPLACE INTO events SELECT * FROM events WHERE arrival = 2",
        "REPLACE INTO events (arrival, id, device, sequence, record, previous, hash)"
        " VALUES (2, 'x', 'd', 1, '{}', 'p', 'h')",
        "INSERT INTO events SELECT * FROM events WHERE arrival = 2 ON CONFLICT DO UPDATE SET record = '{}'",
        "UPDATE OR REPLACE events SET arrival = 3 WHERE arrival = 2",
        "UPDATE writers SET device = 'x'",
        "DELETE FROM writers",
        "REPLACE INTO writers SELECT * FROM writers",
    ],
)
def test_rows_are_never_changed_or_removed(path: Path, statement: str) -> None:
    before = read_log(path)
    with Log(path) as log, pytest.raises(sqlite3.IntegrityError, match="only grows"):
        log._connection.execute(statement)
    assert read_log(path) == before


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT OR REPLACE INTO events SELECT * FROM events WHERE arrival = 2",
        "REPLACE INTO events (arrival, id, device, sequence, record, previous, hash)"
        " VALUES (2, 'x', 'd', 1, '{}', 'p', 'h')",
        "REPLACE INTO writers SELECT * FROM writers",
    ],
)
def test_programs_that_set_nothing_cannot_replace_rows_either(path: Path, statement: str) -> None:
    before = read_log(path)
    with closing(sqlite3.connect(path)) as other, pytest.raises(sqlite3.IntegrityError, match="only grows"):
        other.execute(statement)
    assert read_log(path) == before


def test_sending_twice_adds_nothing(path: Path) -> None:
    with Log(path) as log:
        again = log.append(drafts(played(PLAN)))
        assert (again.new, len(again.already), again.conflicts) == ((), len(played(PLAN)), ())


def test_another_body_under_one_id_is_kept_told_and_not_applied(path: Path) -> None:
    first = drafts(played(PLAN))[1]
    other = Draft(
        id=first.id, device=PHONE, sequence=2, device_time="", body=Read(launch=1, text="99", value=99.0)
    )
    before = said_of_launches(path)
    with Log(path) as log:
        added = log.append([other])
        assert added.conflicts == (first.id,)
        assert isinstance(added.new[0].body, Conflicting)
        assert added.new[0].body.body["text"] == "99"
        assert log.append([other]).new == ()
    assert said_of_launches(path) == before


def test_own_records_are_numbered_one_after_the_other(path: Path) -> None:
    with Log(path) as log:
        first = log.record([(None, Noted(words="a")), (None, Noted(words="b"))]).new
        assert [event.sequence for event in first] == [2, 3]
        assert log.record([(first[0].id, Noted(words="a"))]).already == (first[0].id,)
        assert log.record([(None, Noted(words="c"))]).new[0].sequence == 4


def test_a_copy_of_the_file_is_another_device(path: Path, tmp_path: Path) -> None:
    shutil.copy(path, tmp_path / "copy.sqlite")
    with Log(path) as log, Log(tmp_path / "copy.sqlite") as copy:
        mine, theirs = (one.record([(None, Noted(words="a"))]).new[0].device for one in (log, copy))
        again = log.record([(None, Noted(words="b"))]).new[0].device
    assert mine != theirs
    assert mine == again


def test_one_bad_record_and_nothing_is_written(path: Path) -> None:
    before = read_log(path)
    bad = drafts([Noted(words="fine"), Noted(words="\ud800")], device="tablet")
    with Log(path) as log, refused("not-canonical"):
        log.append(bad)
    assert read_log(path) == before


# ------------------------------------------------------------------------------ other copies


def test_another_copy_is_merged_by_the_ids_of_its_events(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    backup_log(path, copy)
    with Log(copy) as other:
        other.append(drafts([Read(launch=1, text="6", value=6.0)], device="tablet"))
        last = other.events()[-1].hash
    with Log(path) as log:
        log.append(drafts([Noted(words="meanwhile")], device="watch"))
        added = log.merge(copy)
        assert [type(event.body) for event in added.new] == [Read, Merged]
        assert isinstance(added.new[1].body, Merged)
        assert added.new[1].body.old_last_hash == last
        assert len(added.already) == len(read_log(copy)) - 1
        assert log.merge(copy).new == ()
    with Log(copy) as other:
        other.merge(path)
    assert said_of_launches(path) == said_of_launches(copy)


def test_a_log_that_has_not_begun_takes_in_a_whole_one(path: Path, tmp_path: Path) -> None:
    with Log(tmp_path / "new.sqlite", create=True) as log:
        log.merge(path)
        assert log.sealed == read_seal(path)


def read_seal(path: Path) -> str:
    body = read_log(path)[0].body
    assert isinstance(body, Sealed)
    return body.fingerprint


def test_events_of_another_study_are_refused(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    with Log(other, create=True) as log:
        log.record([(None, sealed(schedule(seed=8)))])
    unsealed = tmp_path / "unsealed.sqlite"
    with Log(unsealed, create=True) as log:
        log.append(drafts([Launched(launch=1)], device="tablet"))
    before = read_log(path)
    with Log(path) as log:
        for place in (other, unsealed):
            with refused("other-study"):
                log.merge(place)
        with refused("other-study"):
            log.append(drafts([Launched(launch=1)], device="tablet"), study=read_seal(other))
        assert log.append([], study=read_seal(path)).new == ()
    assert read_log(path) == before


# ------------------------------------------------------------------------------ backup


def test_a_backup_is_whole_while_others_write_and_a_plain_copy_is_not(path: Path, tmp_path: Path) -> None:
    with Log(path) as log:
        log.append(drafts([Noted(words=str(n)) for n in range(50)], device="tablet"))
        assert backup_log(path, tmp_path / "backup.sqlite") == len(log.events())
        shutil.copy(path, tmp_path / "plain.sqlite")
        assert read_log(tmp_path / "backup.sqlite") == log.events()
        assert len(read_log(tmp_path / "plain.sqlite")) < len(log.events())
    assert sorted(place.name for place in tmp_path.iterdir()) == [
        "backup.sqlite",
        "log.sqlite",
        "plain.sqlite",
    ]


def test_a_backup_replaces_nothing_and_needs_a_folder(path: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("mine", encoding="utf-8")
    with refused("backup-exists"):
        backup_log(path, tmp_path / "taken")
    with refused("log-not-writable"):
        backup_log(path, tmp_path / "none" / "backup.sqlite")
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "mine"


# ------------------------------------------------------------------------------ two writers


def test_two_writers_take_turns(path: Path) -> None:
    count = 40

    def write(device: str) -> None:
        with Log(path, wait_s=60.0) as log:
            for draft in drafts([Noted(words=str(n)) for n in range(count)], device=device):
                log.append([draft])

    threads = [threading.Thread(target=write, args=(device,)) for device in ("a", "b")]
    before = len(read_log(path))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(read_log(path)) == before + 2 * count


def test_a_writer_that_does_not_let_go_is_told(path: Path) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as other, Log(path, wait_s=0.01) as log:
        other.execute("BEGIN IMMEDIATE")
        with refused("log-in-use"):
            log.record([(None, Noted(words="a"))])
        other.execute("ROLLBACK")
        assert len(log.record([(None, Noted(words="a"))]).new) == 1
