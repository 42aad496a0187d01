"""Whole studies of invented worlds: written, planned, sealed and played, and their logs as tables."""

from __future__ import annotations

import csv
import io
import itertools
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from evenglide.fieldlog.bodies import AtLeast, Body, PegLost, Read, SetAside, Stopped
from evenglide.fieldlog.events import Event, derived_id
from evenglide.plan.table import read_schedule
from evenglide.rehearsal.chance import rehearsal_source
from evenglide.rehearsal.happenings import drafts
from evenglide.rehearsal.hill_club_world import HILL_CLUB, hill_club_study
from evenglide.rehearsal.play import play
from evenglide.rehearsal.shore_world import SHORE, shore_study
from evenglide.rehearsal.world import World
from evenglide.store.log import Log, read_log
from evenglide.store.study_folder import make_study_folder
from evenglide.study.document import read_study
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study
from evenglide.study.writing import write_study
from tests.walks.command import csv_of, run

SEED = 7
BOARD = "the club's notice board (invented)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """A question, the world it is played in, the size of its plan, and when that was sealed."""

    study: Study
    world: World
    rounds: int
    launches: int
    evening_before: str


HILL = Invented(
    study=hill_club_study(),
    world=HILL_CLUB,
    rounds=10,
    launches=6,
    evening_before="2026-01-09T18:00:00Z",
)
BEACH = Invented(
    study=shore_study(),
    world=SHORE,
    rounds=8,
    launches=4,
    evening_before="2026-05-01T18:00:00Z",
)
STUDIES = {"hill club": HILL, "shore": BEACH}


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A folder with a study that was played, and what it holds."""

    folder: Path
    study: Study
    schedule: Schedule
    events: tuple[Event, ...]

    def bodies(self) -> list[dict[str, Any]]:
        """What was recorded, in the order of arrival."""
        return [event.body.to_dict() for event in self.events]

    def answer(self) -> dict[str, Any]:
        """What the command line answers."""
        result = run("answer", self.folder, "--json")
        assert result.exit_code == 0, result.output
        document: dict[str, Any] = json.loads(result.stdout)
        return document


def sealed_folder(folder: Path, invented: Invented) -> None:
    """Write a question, plan it and seal it, by the command line, on the invented evening before.

    Times and ids are the only things that differ from one call to the next: here they are given.
    """
    make_study_folder(str(folder), write_study(invented.study))
    size = ("--blocks", f"{invented.rounds}", "--launches", f"{invented.launches}")
    planned = run("plan", folder, *size, "--seed", f"{SEED}")
    assert planned.exit_code == 0, planned.output
    numbers = itertools.count(1)
    opened = partial(Log, clock=lambda: invented.evening_before, device="the club's laptop")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("evenglide.steps.seal.Log", opened)
        patch.setattr("evenglide.store.log.new_id", lambda: derived_id("evening before", next(numbers)))
        sealed = run("seal", folder, "--posted", BOARD, "--when", invented.evening_before[:10])
    assert sealed.exit_code == 0, sealed.output


def walk(folder: Path, invented: Invented) -> Walked:
    """Carry a study from the question to a full log."""
    sealed_folder(folder, invented)
    study = read_study((folder / "study.toml").read_bytes())
    schedule = read_schedule((folder / "schedule.csv").read_bytes(), study)
    played = play(study, schedule, world=invented.world, uniform=rehearsal_source(SEED).random)
    with Log(folder / "log.sqlite", clock=lambda: "2026-12-31T12:00:00Z") as log:
        assert log.sealed is not None
        log.append(drafts(played, invented.world, sealed=log.sealed))
    return Walked(folder=folder, study=study, schedule=schedule, events=read_log(folder / "log.sqlite"))


@dataclass(slots=True)
class Row:
    """What the log says of one launch, read off without evenglide's own reading of it."""

    text: str = ""
    cause: str = ""
    value_seen: str = ""
    at_least: str = ""
    stopped: str = ""
    peg_lost: str = ""

    def hear(self, body: Body) -> None:
        """Take in one record of this launch."""
        match body:
            case Read(text=text):
                self.text = text
            case SetAside(cause=cause, value_seen=seen):
                self.cause, self.value_seen = cause, "yes" if seen else "no"
            case AtLeast():
                self.at_least = "yes"
            case Stopped():
                self.stopped = "yes"
            case PegLost():
                self.peg_lost = "yes"


def rows_of(walked: Walked) -> list[tuple[ScheduledLaunch, Row]]:
    """Every planned launch with what was recorded of it."""
    rows = {launch.number: Row() for launch in walked.schedule.launches}
    for event in walked.events:
        number = getattr(event.body, "launch", None)
        if number is not None:
            rows[number].hear(event.body)
    return [(launch, rows[launch.number]) for launch in walked.schedule.launches]


def as_table(walked: Walked, *, surfaces: Sequence[str] | None = None) -> str:
    """The launches that count as a table of somebody who never heard of a log."""
    met = [one.name for one in walked.study.surfaces] if surfaces is None else list(surfaces)
    marks = {one.name: one.mark for one in walked.study.surfaces}
    kept = [
        (launch, row)
        for launch, row in rows_of(walked)
        if launch.kind == "launch" and launch.surface in met and (row.text or row.cause)
    ]
    columns: Mapping[str, Sequence[Any]] = {
        "launch": [launch.number for launch, _ in kept],
        "outing": [launch.outing for launch, _ in kept],
        "round": [launch.block for launch, _ in kept],
        "surface": [launch.surface for launch, _ in kept],
        "way": [launch.direction for launch, _ in kept],
        "mark": [marks[launch.surface] for launch, _ in kept],
        "coat": [launch.preparation for launch, _ in kept],
        "gear": [launch.item for launch, _ in kept],
        "treatment": [launch.treatment for launch, _ in kept],
        "distance": [row.text for _, row in kept],
        "set_aside": [row.cause for _, row in kept],
        "at_least": [row.at_least for _, row in kept],
    }
    return csv_of(columns)


def filled_list(walked: Walked, template: str) -> str:
    """The list of the sealed study, filled in by hand with what the log says."""
    read = list(csv.DictReader(io.StringIO(template)))
    for line, (launch, row) in zip(read, rows_of(walked), strict=True):
        assert line["launch"] == str(launch.number)
        line[walked.study.response] = row.text
        line["set aside"], line["value seen"] = row.cause, row.value_seen
        line["at least"], line["stopped"], line["peg lost"] = row.at_least, row.stopped, row.peg_lost
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(read[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(read)
    return out.getvalue()
