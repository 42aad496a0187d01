"""Where a study stands, told in plain lines; while treatments are hidden, none is named."""

from __future__ import annotations

import shlex
import textwrap
from collections.abc import Mapping, Sequence

from evenglide.fieldlog.progress import Progress, Stage
from evenglide.show.departures import Departure
from evenglide.show.numbers import NO_BREAK, count, listed
from evenglide.show.table import text_block
from evenglide.study.schedule import ScheduledLaunch
from evenglide.study.study import Study

NEXT: Mapping[Stage, tuple[str, str]] = {
    "to plan": (
        "See what each hour outside buys, and take a layout:",
        "evenglide plan {folder}",
    ),
    "to seal": ("Seal it, before the first launch:", "evenglide seal {folder}"),
    "to post": (
        "Post the text of the seal, then record where:",
        "evenglide seal {folder} --posted WHERE",
    ),
    "to launch": ("Launch.", ""),
    "to answer": ("Everything is launched:", "evenglide report {folder}"),
}
"""What comes next at each stage, and the command for it."""


def status_text(
    study: Study,
    progress: Progress,
    *,
    departures: Sequence[Departure],
    fingerprint: str | None,
    folder: str,
    checks: Sequence[int] = (),
    posted: Sequence[str] = (),
    width: int = 88,
) -> str:
    """Tell where a study stands.

    Parameters
    ----------
    study : Study
    progress : Progress
    departures : sequence of Departure
    fingerprint : str or None
        Of the seal.
    folder : str
        As somebody typed it, for the next command.
    checks : sequence of int, optional
        Rounds after which a half-way check is planned.
    posted : sequence of str, optional
        Where and when the fingerprint was posted.
    width : int, optional
        Characters in a line.

    Returns
    -------
    str
        Without a line break at the end.
    """
    rows = [
        ("Plan", f"{count(progress.planned, 'launch', 'launches')} in {count(progress.rounds, 'round')}.")
    ]
    if progress.stage == "to plan":
        rows = [("Plan", "None yet.")]
    if fingerprint is not None:
        rows += [("Sealed", fingerprint), *(("Posted", where) for where in posted), ("Made", _made(progress))]
    rows += [("Otherwise" if at == 0 else "", one.text) for at, one in enumerate(departures)]
    if checks and progress.stage != "to answer":
        rows.append(("Half-way check", _checks(progress, checks)))
    words, command = NEXT[progress.stage]
    following = progress.next_launch if progress.stage == "to launch" else None
    rows.append(("Next", words if following is None else _launch(study, following)))
    lines = [*textwrap.wrap(study.title, width), "", text_block(rows, width=width)]
    if command:  # on a line of its own, never folded, so that it can be copied
        lines += ["", f"    {command.format(folder=shlex.quote(folder))}"]
    return "\n".join(lines)


def _made(progress: Progress) -> str:
    more = [
        f"{number} {what}"
        for number, what in ((progress.set_aside, "set aside"), (progress.unread, "without a reading"))
        if number
    ]
    also = f" ({', '.join(more)})" if more else ""
    return (
        f"{progress.made} of {count(progress.planned, 'launch', 'launches')}{also}; "
        f"{progress.rounds_done} of {count(progress.rounds, 'round')} complete."
    )


def _checks(progress: Progress, checks: Sequence[int]) -> str:
    """Say after which rounds somebody may look, and whether one of them is over."""
    due = any(progress.rounds_done == one for one in checks)
    after = f"round{NO_BREAK}{checks[0]}" if len(checks) == 1 else f"rounds {listed(list(map(str, checks)))}"
    now = " Now is the time: evenglide answer." if due else ""
    return f"Planned after {after} of {progress.rounds}, and at no other time.{now}"


def _launch(study: Study, launch: ScheduledLaunch) -> str:
    """Name the next launch: by its tag where treatments are hidden, else by item and treatment."""
    gear = f"{launch.tag} ({launch.item})" if study.hidden_from else f"{launch.item}, {launch.treatment}"
    kind = "launch" if launch.kind == "launch" else f"launch ({launch.kind})"
    way = f", {launch.direction}" if len(study.design.directions) > 1 else ""
    return f"{kind} {launch.number}, round {launch.block}, {launch.surface}{way}: {gear}"
