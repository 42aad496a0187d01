"""Logs that are torn, altered, full, out of reach or cut off: told, and nothing lost."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from evenglide.errors import LogError
from evenglide.fieldlog.bodies import Noted
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.merging import merge
from evenglide.store.log import Log, read_log
from evenglide.store.log_backup import backup_log
from tests.fieldlog.made_up import drafts, played
from tests.store.test_log import PLAN, begin, refused

KILLS = 200


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return begin(tmp_path / "log.sqlite", *played(PLAN))


def change(path: Path, statement: str, *values: object) -> None:
    """Change a row behind the back of the triggers, as somebody with a database program could."""
    with closing(sqlite3.connect(path)) as connection:
        for (trigger,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {trigger}")
        connection.execute(statement, values)
        connection.commit()


def test_a_changed_byte_is_found_with_its_place(path: Path) -> None:
    content = path.read_bytes()
    events = read_log(path)
    place = next(n for n, event in enumerate(events, start=1) if getattr(event.body, "launch", 0) == 9)
    text = events[place].body.to_dict()["text"]
    at = content.index(f'"launch":9,"text":"{text}'.encode()) + len('"launch":9,"text":"')
    path.write_bytes(content[:at] + (b"8" if content[at : at + 1] != b"8" else b"7") + content[at + 1 :])
    for open_log in (read_log, Log):
        with refused("log-altered") as caught:
            open_log(path)
        where = caught[0].problems[0].where
        assert f"event {place + 1}, launch 9 ({events[place].id})" in where


@pytest.mark.parametrize(
    ("statement", "position", "found"),
    [
        ("UPDATE events SET record = '{' WHERE arrival = 5", 5, "not what was recorded"),
        ("UPDATE events SET record = NULL WHERE arrival = -5", None, ""),
        ("UPDATE events SET device = 'x' WHERE arrival = 5", 5, "not what was recorded"),
        ("UPDATE events SET sequence = 99 WHERE arrival = 5", 5, "not what was recorded"),
        ("UPDATE events SET record = CAST(x'ff' AS TEXT) WHERE arrival = 5", 5, None),
        ("DELETE FROM events WHERE arrival = 5", 5, "does not follow"),
        ("DELETE FROM events WHERE arrival = 1", 1, "does not follow"),
        ("UPDATE events SET arrival = 100 WHERE arrival = 5", 5, "does not follow"),
    ],
)
def test_a_row_that_was_changed_or_removed_is_found(
    path: Path, statement: str, position: int | None, found: str | None
) -> None:
    before = read_log(path)
    change(path, statement)
    if position is None:
        assert read_log(path) == before
        return
    with pytest.raises(LogError) as caught:
        read_log(path)
    problem = caught.value.problems[0]
    if found is None:  # text that is no text
        assert problem.code in ("log-altered", "log-damaged")
    else:
        assert f"event {position}" in problem.where
        assert found in problem.found


def test_what_is_sound_in_an_altered_copy_can_be_taken_in(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    backup_log(path, copy)
    with Log(copy) as other:
        other.append(drafts([Noted(words="a"), Noted(words="b"), Noted(words="c")], device="tablet"))
        lost = other.events()[-2]
    change(copy, "UPDATE events SET record = replace(record, '\"b\"', '\"B\"') WHERE id = ?", lost.id)
    with Log(path) as log:
        added = log.merge(copy)
    assert [event.body.to_dict().get("words") for event in added.new] == ["a", "c", None]


@pytest.mark.parametrize("part", [0.02, 0.3, 0.6, 0.99])
def test_a_torn_copy_is_told(path: Path, tmp_path: Path, part: float) -> None:
    content = path.read_bytes()
    torn = tmp_path / "torn.sqlite"
    torn.write_bytes(content[: int(len(content) * part)])
    for open_log in (read_log, Log):
        with refused("log-damaged"):
            open_log(torn)


@pytest.mark.parametrize(("part", "least"), [(0.8, 10), (0.95, 20)])
def test_what_is_sound_in_a_torn_copy_can_be_taken_in(
    path: Path, tmp_path: Path, part: float, least: int
) -> None:
    """The log is rebuilt from its first event on, as from an early backup."""
    early = tmp_path / "early.sqlite"
    with Log(early, create=True) as log:
        log.append([read_log(path)[0].to_draft()])
    torn = tmp_path / "torn.sqlite"
    content = path.read_bytes()
    torn.write_bytes(content[: int(len(content) * part)] + bytes(len(content) - int(len(content) * part)))
    with refused("log-damaged"):
        read_log(torn)
    with Log(early) as log:
        added = log.merge(torn)
        whole = {event.id: event for event in read_log(path)}
        assert len(added.new) > least
        assert all(whole[event.id].body == event.body for event in added.new if event.id in whole)
        assert replay(log.events()).seal == replay(read_log(path)).seal


def test_a_copy_that_lost_its_seal_is_known_by_what_it_shares(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.sqlite"
    backup_log(path, copy)
    with Log(copy) as other:
        other.append(drafts([Noted(words="a")], device="tablet"))
    change(copy, "DELETE FROM events WHERE arrival = 1")
    with Log(path) as log:
        assert [event.body.kind for event in log.merge(copy).new] == ["noted", "merged"]


def test_a_copy_of_which_nothing_can_be_read_is_told(path: Path, tmp_path: Path) -> None:
    empty = tmp_path / "empty.sqlite"
    with Log(empty, create=True):
        pass
    with Log(path) as log, refused("nothing-sound"):
        log.merge(empty)


@pytest.mark.parametrize("step", range(12))
def test_a_copy_taken_while_it_is_written_is_the_beginning_of_the_log_or_told(
    path: Path, tmp_path: Path, step: int
) -> None:
    """Database and journal are copied at two moments."""
    torn = tmp_path / "torn.sqlite"
    with Log(path) as log:
        for number, draft in enumerate(drafts([Noted(words="x" * 900)] * 60, device="tablet")):
            log.append([draft])
            if number == step * 5:
                shutil.copy(path, torn)
            if step % 3 == 0 and number == 30:
                log._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        shutil.copy(f"{path}-wal", f"{torn}-wal")
        whole = log.events()
    try:
        found = read_log(torn)
    except LogError as error:
        assert error.problems[0].code in ("log-damaged", "log-altered")
    else:
        assert found == whole[: len(found)]


@pytest.mark.parametrize(
    ("content", "code"),
    [(b"", "not-a-log"), (b"launch,distance\n1,5.9\n", "not-a-log"), (None, "no-such-log")],
)
def test_another_file_is_no_log(tmp_path: Path, content: bytes | None, code: str) -> None:
    place = tmp_path / "log.sqlite"
    if content is not None:
        place.write_bytes(content)
    for open_log in (read_log, Log):
        with refused(code):
            open_log(place)
    assert not place.exists() if content is None else place.read_bytes() == content


def test_a_folder_is_no_log(tmp_path: Path) -> None:
    with refused("not-a-log"):
        Log(tmp_path)


def test_a_database_of_another_kind_is_no_log(tmp_path: Path) -> None:
    place = tmp_path / "log.sqlite"
    with closing(sqlite3.connect(place)) as other:
        other.execute("CREATE TABLE songs (name TEXT)")
        other.commit()
    content = place.read_bytes()
    for open_log in (read_log, lambda path: Log(path, create=True)):
        with refused("not-a-log"):
            open_log(place)
    assert place.read_bytes() == content


def test_a_log_of_a_newer_version_is_left_alone(path: Path) -> None:
    with closing(sqlite3.connect(path)) as newer:
        newer.execute("PRAGMA user_version = 99")
    content = path.read_bytes()
    for open_log in (read_log, Log):
        with refused("newer-log"):
            open_log(path)
    assert path.read_bytes() == content


def test_a_full_disk_loses_nothing_that_was_recorded(path: Path) -> None:
    before = read_log(path)
    with Log(path) as log:
        pages = log._connection.execute("PRAGMA page_count").fetchone()[0]
        log._connection.execute(f"PRAGMA max_page_count = {pages}")
        many = drafts([Noted(words="x" * 900)] * 60, device="tablet")
        with refused("disk-full"):
            log.append(many)
        assert log.events() == before
        log._connection.execute("PRAGMA max_page_count = 100000")
        assert len(log.append(many).new) == len(many)
    assert len(read_log(path)) == len(before) + len(many)


# ------------------------------------------------------------------------------ a user without rights


def as_nobody(work: Callable[[], str]) -> str:
    """Run something in a process without rights and return what it says."""
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the child does nothing but this one thing
        child = os.fork()
    if child == 0:
        said = "nothing"
        try:
            if os.getuid() == 0:
                nobody = pwd.getpwnam("nobody")
                os.setgroups([])
                os.setgid(nobody.pw_gid)
                os.setuid(nobody.pw_uid)
            said = work()
        except LogError as error:
            said = error.problems[0].code
        except BaseException as error:
            said = f"raised {error!r}"
        finally:
            os.write(writing, said.encode())
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        said = pipe.read().decode()
    os.waitpid(child, 0)
    return said


@pytest.fixture
def locked(path: Path) -> Iterator[Path]:
    """A log in a folder that may be read only."""
    for folder in path.parents:
        if folder == Path(tempfile.gettempdir()):
            break
        if folder.stat().st_uid == os.getuid():
            folder.chmod(0o755)
    path.chmod(0o444)
    path.parent.chmod(0o555)
    yield path
    path.parent.chmod(0o755)


def test_a_log_in_a_read_only_folder_is_read_and_not_written(locked: Path) -> None:
    count = len(read_log(locked))
    assert as_nobody(lambda: str(len(read_log(locked)))) == str(count)
    assert as_nobody(lambda: str(Log(locked))) == "log-not-writable"
    assert as_nobody(lambda: str(Log(locked.with_name("new.sqlite"), create=True))) == "log-not-writable"


def test_a_log_that_may_not_be_read_is_told(locked: Path) -> None:
    locked.chmod(0o000)
    assert as_nobody(lambda: str(read_log(locked))) == "log-not-writable"


# ------------------------------------------------------------------------------ a writer that is killed

WRITER = """
import sys
from evenglide.fieldlog.bodies import Noted
from evenglide.fieldlog.events import Draft
from evenglide.store.log import Log
with Log(sys.argv[1]) as log:
    for number in range(1, 100000):
        body = Noted(words=f"{number}")
        event = f"{sys.argv[2]}-{number}"
        log.append([Draft(id=event, device=sys.argv[2], sequence=number, device_time="", body=body)])
        print(event, flush=True)
"""


def test_no_acknowledged_event_is_lost_when_the_writer_is_killed(path: Path) -> None:
    acknowledged: set[str] = set()
    for kill in range(KILLS):
        arguments = [sys.executable, "-c", WRITER, str(path), f"writer{kill}"]
        with subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True) as writer:
            assert writer.stdout is not None
            for _ in range(1 + 3 * kill):
                acknowledged.add(writer.stdout.readline().strip())
            writer.send_signal(signal.SIGKILL)
            rest = writer.stdout.read().split("\n")
            acknowledged |= set(rest[:-1])  # the last line may be cut off
    there = {event.id for event in read_log(path)}
    assert len(acknowledged) > KILLS
    assert acknowledged - there == set()


def test_merging_what_was_lost_brings_it_back(path: Path, tmp_path: Path) -> None:
    """A plain copy lacks what stands in the journal; merging the whole log fills it up."""
    with Log(path) as log:
        log.append(drafts([Noted(words=str(n)) for n in range(20)], device="tablet"))
        shutil.copy(path, tmp_path / "plain.sqlite")
        backup_log(path, tmp_path / "whole.sqlite")
    assert merge(read_log(tmp_path / "plain.sqlite"), read_log(path)).new != ()
    with Log(tmp_path / "plain.sqlite") as plain:
        plain.merge(tmp_path / "whole.sqlite")
        assert {event.id for event in read_log(path)} <= {event.id for event in plain.events()}


def test_reading_here_and_looking_in_elsewhere_loses_nothing_that_is_written_then(path: Path) -> None:
    look = f"import evenglide.store.log as log; print(len(log.read_log({str(path)!r})))"

    def elsewhere() -> int:
        return int(subprocess.run([sys.executable, "-c", look], capture_output=True, check=True).stdout)

    with Log(path) as log:
        read_log(path)
        before = elsewhere()
        log.record([(None, Noted(words="after somebody looked in"))])
        assert elsewhere() == before + 1
    assert len(read_log(path)) == before + 1
