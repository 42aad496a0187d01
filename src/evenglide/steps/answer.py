"""Answer a study: its log, one call, words or a report."""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.answer.looking import already_seen, check_time, look_made
from evenglide.answer.study import StudyAnswer, answer_study
from evenglide.report.carried_out import sealed_on
from evenglide.report.page import report_html
from evenglide.report.text import answer_rows, answer_text
from evenglide.report.wording import Wording, choose_wording
from evenglide.steps.sealed_study import SealedStudy, sealed_study
from evenglide.store.log import Log, read_log
from evenglide.store.pages import write_page
from evenglide.store.study_folder import files_now, log_path, report_path
from evenglide.study.cautions import usual_cautions


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """A study as sealed, and its answer."""

    sealed: SealedStudy
    found: StudyAnswer


def answer_folder(folder: str, *, early: bool = False) -> Answered:
    """Answer the sealed study in a folder from its log; an answer before the end is recorded in it.

    Asked for before its time, an answer is refused unless `early` is set or the same was seen before.
    """
    path = log_path(folder)
    events = read_log(path)
    sealed = sealed_study(events, where=path)
    early = early or already_seen(events)
    if not early:
        check_time(sealed.study, sealed.schedule, sealed.state)
    found = answer_study(sealed.study, sealed.schedule, events, files=files_now(folder), early=early)
    look = look_made(sealed.schedule, sealed.state, events, judged=found.looks)
    if look is None:
        return Answered(sealed=sealed, found=found)
    with Log(path) as log:
        log.record([(None, look)])
    events = read_log(path)
    return Answered(
        sealed=sealed_study(events, where=path),
        found=answer_study(sealed.study, sealed.schedule, events, files=files_now(folder), early=early),
    )


def study_answer_in_words(answered: Answered) -> str:
    """Tell the answer of a study for a terminal."""
    return answer_text(
        answered.found.answer,
        _wording(answered),
        shared=answered.found.launches.shared,
        sealed_on=sealed_on(answered.sealed.state),
    )


def study_answer_in_rows(answered: Answered) -> tuple[str, list[tuple[str, str]]]:
    """Tell the answer of a study as a headline and pairs of a name and a text."""
    return answer_rows(
        answered.found.answer,
        _wording(answered),
        shared=answered.found.launches.shared,
        sealed_on=sealed_on(answered.sealed.state),
    )


def report_folder(folder: str, *, out: str | None = None, early: bool = False) -> tuple[Answered, str]:
    """Answer the study in a folder and write its report; returns where it was written."""
    answered = answer_folder(folder, early=early)
    path = out or report_path(folder)
    write_page(path, report_page(answered, folder))
    return answered, path


def report_page(answered: Answered, folder: str) -> str:
    """Write the report of an answered study."""
    return report_html(
        answered.found.answer,
        answered.found.launches,
        wording=_wording(answered),
        source_name="sealed study",
        repeat_with=f"evenglide answer {folder}",
        title=answered.sealed.study.title,
        cautions=usual_cautions(answered.sealed.study),
        state=answered.sealed.state,
    )


def _wording(answered: Answered) -> Wording:
    return choose_wording(answered.found.answer.response.unit, mark_given=True)
