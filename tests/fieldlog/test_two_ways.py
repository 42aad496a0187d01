"""One odd day, told by two phones and by a list: the same answer; and nothing is taken in twice."""

from __future__ import annotations

import json
import random
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from evenglide.answer.study import answer_study
from evenglide.fieldlog.bodies import Sealed
from evenglide.fieldlog.day import day_of
from evenglide.fieldlog.events import Draft, Event
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.fieldlog.running import RunningDay
from evenglide.fieldlog.state import LaunchState
from evenglide.intake.phone_log import PHONE_LOG_FORMAT, records_of
from evenglide.steps.take_in import TakenIn, take_in
from evenglide.store.log import Log
from tests.fieldlog.made_up import LAPTOP, drafts, schedule, sealed, study
from tests.fieldlog.whole_days import PHONES, WholeDay, whole_day

PLAN = schedule(blocks=3, launches=2)
SEAL = sealed(PLAN)
OF_RECORDING = {"readings-corrected", "set-aside-taken-back", "corrected-differently"}
"""What only a record of each step can tell: a list holds the end of it."""


def begun(folder: Path) -> Path:
    folder.mkdir()
    with Log(folder / "log.sqlite", create=True) as log:
        log.append(drafts([SEAL], device=LAPTOP))
    return folder


def events_of(folder: Path) -> tuple[Event, ...]:
    with Log(folder / "log.sqlite") as log:
        return log.events()


def file_of(folder: Path, records: Sequence[Draft]) -> str:
    """A phone's file with some of its records."""
    assert isinstance(SEAL, Sealed)
    head = {"format": PHONE_LOG_FORMAT, "study": SEAL.fingerprint, "records": len(records)}
    path = folder / "records.txt"
    path.write_text("".join(json.dumps(one) + "\n" for one in (head, *records_of(records))), encoding="utf-8")
    return str(path)


def taken(folder: Path, records: Sequence[Draft]) -> TakenIn:
    return take_in(str(folder), file_of(folder, records))


def listed(folder: Path, day: WholeDay) -> TakenIn:
    path = folder / "list.csv"
    path.write_text(day.listed(), encoding="utf-8")
    return take_in(str(folder), str(path))


def answer_of(folder: Path) -> dict[str, Any]:
    """All of an answer but where it comes from and what only single records tell."""
    told: dict[str, Any] = answer_study(study(), PLAN, events_of(folder)).answer.to_dict()
    told.pop("provenance")
    told["conduct"] = {name: said for name, said in told["conduct"].items() if name != "questions"}
    told["conduct"]["departures"] = [
        one for one in told["conduct"]["departures"] if one["code"] not in OF_RECORDING
    ]
    return json.loads(json.dumps(told))  # type: ignore[no-any-return]


def without_place(launches: dict[int, LaunchState]) -> dict[int, LaunchState]:
    return {number: replace(one, position=0) for number, one in launches.items()}


def taken_in_portions(folder: Path, day: WholeDay, chance: random.Random) -> None:
    """The records in any order and portions, some of them twice; all of one phone after all of the other."""
    for phone in reversed(PHONES):
        left = [one for one in day.drafts if one.device == phone]
        chance.shuffle(left)
        while left:
            size = chance.randint(1, len(left))
            assert taken(folder, [*left[:size], *left[: size // 2]]).new == size
            left = left[size:]


@settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
@given(seed=some.integers(0, 10**6))
def test_phones_and_a_list_come_to_the_same_answer(
    seed: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    chance = random.Random(seed)
    day = whole_day(PLAN, chance)
    phoned, written = begun(tmp_path_factory.mktemp("a") / "p"), begun(tmp_path_factory.mktemp("b") / "w")
    taken_in_portions(phoned, day, chance)
    listed(written, day)
    answer = answer_of(written)
    assert answer_of(phoned) == answer
    for phone in PHONES:
        again = taken(phoned, [one for one in day.drafts if one.device == phone])
        assert (again.new, again.conflicts, again.missing, again.unreadable) == (0, 0, 0, ())
    once_more = listed(phoned, day)
    assert (once_more.readings, once_more.corrections) == (day.bounds, 0)
    assert listed(phoned, day).new == listed(written, day).new == 0


@settings(max_examples=60)
@given(seed=some.integers(0, 10**6))
def test_a_day_kept_up_to_date_is_the_replay_of_it(seed: int) -> None:
    chance = random.Random(seed)
    plan = phone_plan(study(), PLAN, fingerprint="5f" * 32)
    arriving = whole_day(PLAN, chance).drafts
    whole = replay(arriving)  # type: ignore[arg-type]
    chance.shuffle(arriving)
    running = RunningDay(plan)
    while arriving:
        size = chance.randint(1, 9)
        running.add([*arriving[:size], *arriving[: size // 2]])
        arriving = arriving[size:]
    assert running.day().to_dict() == day_of(plan, whole).to_dict()
    assert running.state().made == whole.made
    assert without_place(dict(running.state().launches)) == without_place(dict(whole.launches))
