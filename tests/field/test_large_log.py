"""A hundred thousand records: a request reads and folds what is new, and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import pytest

from evenglide.fieldlog.bodies import Body, Noted, Read
from evenglide.fieldlog.events import new_id
from evenglide.steps import laptop
from evenglide.steps.desk import RECENT, Desk
from evenglide.store import log as log_of_store
from tests.field.large import fill
from tests.field.studies import planned, sealed_study

RECORDS = 100_000


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    folder = sealed_study(tmp_path_factory.mktemp("large") / "study", blocks=3)
    _, schedule = planned(folder)
    fill(folder, schedule, records=RECORDS)
    opened = Desk(str(folder))
    yield opened
    opened.close()


@dataclass(slots=True)
class Cost:
    """What a request cost."""

    rows: int = 0
    folded: int = 0
    statements: list[str] = field(default_factory=list)


@contextmanager
def counted(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Iterator[Cost]:
    """Count rows of events that are read, records that are folded, and keep the statements."""
    cost, before = Cost(), desk.folded
    connection = desk._log._connection
    read = log_of_store.read_rows_after

    def reading(*given: object) -> tuple:
        rows = read(*given)
        cost.rows += len(rows)
        return rows

    def everything(*_: object) -> None:
        raise AssertionError("the whole log was read")

    monkeypatch.setattr(log_of_store, "read_rows_after", reading)
    monkeypatch.setattr(log_of_store, "read_rows", everything)
    connection.set_trace_callback(cost.statements.append)
    yield cost
    connection.set_trace_callback(None)
    monkeypatch.undo()
    cost.folded = desk.folded - before


def sent(body: Body, sequence: int, *, device: str = "phone-late") -> dict:
    return {
        "id": new_id(),
        "device": device,
        "sequence": sequence,
        "device_time": "2026-01-17T20:00:00Z",
        "body": body.to_dict(),
    }


def frame(desk: Desk) -> int:
    """Records that frame the day."""
    launches = desk.plan["launches"]
    return 1 + len({one["preparation"] for one in launches}) + len({one["set_up"] for one in launches})


def test_all_of_it_is_there(desk: Desk) -> None:
    assert desk.catch_up() > RECORDS
    assert desk.day().state == "end of coat"


def test_taking_in_costs_what_came(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    reading = Read(launch=7, text="5.4", value=5.4)
    with counted(desk, monkeypatch) as cost:
        received = desk.receive(
            desk.plan["study"],
            [
                sent(reading, 1, device="phone-first"),
                *(sent(Noted(words="x"), n, device="phone-first") for n in (2, 3)),
            ],
        )
    assert len(received.kept) == 3
    assert (cost.rows, cost.folded) == (3, 4)  # three new ones; that launch was released, marked, read, read


def test_a_record_out_of_turn_costs_what_it_moves(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    late = Read(launch=9, text="5.4", value=5.4)
    first = [sent(Noted(words="x"), n, device="phone-second") for n in (2, 3)]
    desk.receive(desk.plan["study"], first)
    with counted(desk, monkeypatch) as cost:
        desk.receive(desk.plan["study"], [sent(late, 1, device="phone-second")])
    assert (cost.rows, cost.folded) == (1, 4)


@pytest.mark.parametrize("shown", [laptop.day_so_far, laptop.home, laptop.keying, laptop.clip])
def test_a_page_reads_nothing_again(desk: Desk, monkeypatch: pytest.MonkeyPatch, shown: object) -> None:
    laptop.day_so_far(desk)
    with counted(desk, monkeypatch) as cost:
        shown(desk)  # type: ignore[operator]
    assert cost.rows == 0
    assert cost.folded <= 2 * frame(desk) + 2 * 8


def test_the_day_so_far_after_one_more_record(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.receive(desk.plan["study"], [sent(Noted(words="one more"), 11)])
    with counted(desk, monkeypatch) as cost:
        told = laptop.day_so_far(desk)
    assert "one more" in told["latest"][0]
    assert cost.rows == 0
    assert cost.folded <= 3 * frame(desk) + 2 * 8


def test_every_record_is_told_by_the_page(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    with counted(desk, monkeypatch) as cost:
        told = desk.told()
    assert len(told) == RECENT and cost.rows == 0
    assert cost.folded <= 2 * RECENT
    assert any("heard better" in one["now"] for one in told)


def test_listening_costs_one_look_at_the_end(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.catch_up()
    with counted(desk, monkeypatch) as cost:
        desk.catch_up()
    assert (cost.rows, cost.folded, len(cost.statements)) == (0, 0, 1)


def test_every_question_to_the_database_goes_by_an_index(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    record = sent(Noted(words="again"), 21)
    with counted(desk, monkeypatch) as cost:
        desk.receive(desk.plan["study"], [record])
        desk.receive(desk.plan["study"], [record])  # there already
        desk.receive(desk.plan["study"], [{**record, "body": Noted(words="other").to_dict()}])  # a conflict
        laptop.add_condition(desk, name="wind", value="3", unit="m/s", words="")
        laptop.day_so_far(desk)
        desk.told(kind="condition")
    asked = [one for one in cost.statements if one.lstrip().upper().startswith(("SELECT", "INSERT"))]
    ways = [
        str(row[3])
        for one in asked
        for row in desk._log._connection.execute(f"EXPLAIN QUERY PLAN {one}").fetchall()
    ]
    assert len(asked) > 8 and any("events_of_device" in way for way in ways)
    assert [way for way in ways if "SCAN events" in way] == []
