"""The whole job on an invented study: new, plan, seal, played outside, answered, reported."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from evenglide.constants import VERSION
from evenglide.fieldlog.bodies import Posted
from evenglide.fieldlog.sealing import sealed_body
from evenglide.plan.limits import plan_study
from evenglide.plan.table import write_schedule
from evenglide.rehearsal.chance import rehearsal_source
from evenglide.rehearsal.happenings import drafts
from evenglide.rehearsal.hill_club_world import HILL_CLUB, hill_club_study
from evenglide.rehearsal.play import play
from evenglide.steps.answer import report_folder, study_answer_in_words
from evenglide.store.log import Log
from evenglide.store.pages import new_folder
from evenglide.store.study_folder import log_path, make_study_folder, write_schedule_file
from evenglide.study.seal import make_seal, text_to_post
from evenglide.study.writing import write_study

SEED = 2
ROUNDS, LAUNCHES = 10, 6
EVENING_BEFORE = "2026-01-09T18:00:00Z"
"""When the invented plan was sealed: the invented first outing is the day after."""
BOARD = "the club's notice board (invented)"
STAGES = ("Question written", "Launches planned", "Plan sealed", "Days outside played", "Report written")


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """What the demo made: its folder, its report, the text that was posted, the answer in words."""

    folder: str
    report: str
    report_address: str
    posted: str
    words: str


def play_demo(done: Callable[[str], None] = lambda _: None) -> Demo:
    """Make an invented study in a new folder here, play it and report it; `done` is told each stage."""
    place = new_folder("evenglide-demo")
    folder, study = str(place), hill_club_study()
    study_text = write_study(study)
    make_study_folder(folder, study_text)
    done(STAGES[0])
    schedule = plan_study(study, blocks=ROUNDS, launches=LAUNCHES, seed=SEED).schedule
    schedule_text = write_schedule(schedule)
    write_schedule_file(folder, schedule_text)
    done(STAGES[1])
    seal = make_seal(study_text, schedule_text, schedule=schedule, version=VERSION)
    with Log(log_path(folder), create=True, clock=lambda: EVENING_BEFORE) as log:
        log.record([(None, sealed_body(seal)), (None, Posted(where=BOARD, when="2026-01-09"))])
        done(STAGES[2])
        played = play(study, schedule, world=HILL_CLUB, uniform=rehearsal_source(SEED).random)
        log.append(drafts(played, HILL_CLUB, sealed=seal.fingerprint))
        done(STAGES[3])
    answered, report = report_folder(folder)
    done(STAGES[4])
    return Demo(
        folder=folder,
        report=report,
        report_address=(place / "out" / "report.html").resolve().as_uri(),
        posted=text_to_post(seal, study, schedule),
        words=study_answer_in_words(answered),
    )
