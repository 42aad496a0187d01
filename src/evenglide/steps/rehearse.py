"""Rehearse a plan, sealed or only drawn: played many times over, told, written as pages."""

from __future__ import annotations

import os
import secrets
import shlex
from collections.abc import Callable
from dataclasses import dataclass

from evenglide.answer.rehearsed import Rehearsal
from evenglide.answer.study import answer_study
from evenglide.constants import VERSION
from evenglide.fieldlog.fold import replay
from evenglide.plan.scatter import find_scatter
from evenglide.plan.table import read_schedule
from evenglide.rehearsal.rehearsing import Wishes, example_of, plan_play, rehearse_play
from evenglide.rehearsal.repeats import Play
from evenglide.report.page import report_html
from evenglide.report.rehearsal_page import rehearsal_html
from evenglide.report.wording import choose_wording
from evenglide.steps.pilot import pilot_of
from evenglide.store.folder_state import read_state
from evenglide.store.pages import write_page
from evenglide.store.study_folder import read_schedule_file, read_study_file
from evenglide.study.cautions import usual_cautions
from evenglide.study.document import read_study
from evenglide.study.seal import Seal, make_seal

SEEDS = 10**9


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """Where pages are to be written; None for those that nobody wants."""

    report: str | None = None
    example: str | None = None


def rehearse_folder(
    folder: str,
    *,
    truths: tuple[str, ...] = (),
    troubles: tuple[str, ...] = (),
    times: int,
    seed: int | None = None,
    pages: Pages,
    done: Callable[[float], None] = lambda _: None,
) -> Rehearsal:
    """Rehearse the study in a folder as sealed, or as it stands; without a seed, one is drawn."""
    chosen = secrets.randbelow(SEEDS) if seed is None else seed
    wishes = Wishes(truths=truths, troubles=troubles, times=times, seed=chosen)
    seal, sealed = _seal_of(folder)
    study = read_study(seal.study_text)
    play, unplayed = plan_play(
        study,
        read_schedule(seal.schedule_text, study),
        find_scatter(study, pilot_of(folder, study)),
        wishes=wishes,
    )
    command = _command(folder, wishes)
    if pages.example is not None:
        write_page(pages.example, _example_html(play, seal, repeat_with=f"{command} --example OUT.html"))
    rehearsal = rehearse_play(
        play,
        sealed=sealed,
        unplayed=unplayed,
        example=pages.example,
        threads=os.cpu_count() or 1,
        done=done,
    )
    if pages.report is not None:
        write_page(pages.report, rehearsal_html(rehearsal, repeat_with=command))
    return rehearsal


def rehearsal_in_words(rehearsal: Rehearsal) -> str:
    """Tell a rehearsal for a terminal."""
    from evenglide.report.rehearsal_text import rehearsal_text

    return rehearsal_text(rehearsal)


def _seal_of(folder: str) -> tuple[Seal, bool]:
    """The seal of a folder, or the one that its files would have now."""
    state, _ = read_state(folder)
    body = state.seal
    if body is not None:
        texts: tuple[str | bytes, str | bytes] = body.study_text, body.schedule_text
    else:
        texts = read_study_file(folder), read_schedule_file(folder)
    schedule = read_schedule(texts[1], read_study(texts[0]))  # tells with its place what is no UTF-8
    study_text, schedule_text = (text if isinstance(text, str) else text.decode() for text in texts)
    version = VERSION if body is None else body.software
    return make_seal(study_text, schedule_text, schedule=schedule, version=version), body is not None


def _command(folder: str, wishes: Wishes) -> str:
    """Command line that gives the same again."""
    words = [f"--truth={truth}" for truth in wishes.truths]
    words += [f"--trouble={trouble}" for trouble in wishes.troubles]
    words += [f"--times={wishes.times}", f"--seed={wishes.seed}"]
    return shlex.join(["evenglide", "rehearse", folder, *words])


def _example_html(play: Play, seal: Seal, *, repeat_with: str) -> str:
    """Write the report of one study that was played, through log and answer."""
    events = example_of(play, seal)
    found = answer_study(play.study, play.schedule, events, early=True)
    return report_html(
        found.answer,
        found.launches,
        wording=choose_wording(found.answer.response.unit, mark_given=True),
        source_name="a rehearsal: every number on this page is invented",
        repeat_with=repeat_with,
        title=f"Invented, a rehearsal of: {play.study.title}",
        cautions=usual_cautions(play.study),
        state=replay(events),
    )
