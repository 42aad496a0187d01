"""Where a study stands, told in plain lines; while treatments are hidden, none is named."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from evenglide.fieldlog.progress import Progress
from evenglide.show.departures import Departure
from evenglide.show.numbers import count
from evenglide.show.table import text_block
from evenglide.study.schedule import ScheduledLaunch
from evenglide.study.study import Study


def status_text(
    study: Study,
    progress: Progress,
    *,
    departures: Sequence[Departure],
    fingerprint: str | None,
    folder: str,
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
        rows += [("Sealed", fingerprint), ("Made", _made(progress))]
    rows += [("Otherwise" if at == 0 else "", one.text) for at, one in enumerate(departures)]
    rows.append(("Next", _next(study, progress, folder)))
    return "\n".join([*textwrap.wrap(study.title, width), "", text_block(rows, width=width)])


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


def _next(study: Study, progress: Progress, folder: str) -> str:
    if progress.stage == "to launch" and progress.next_launch is not None:
        return _launch(study, progress.next_launch)
    return {
        "to plan": f"evenglide plan {folder} --blocks N --launches M",
        "to seal": f"evenglide seal {folder}, before the first launch",
        "to post": f"Post the text of evenglide seal {folder}, and record where: --posted WHERE",
        "to answer": f"evenglide report {folder}",
    }.get(progress.stage, "")


def _launch(study: Study, launch: ScheduledLaunch) -> str:
    """Name the next launch: by its tag where treatments are hidden, else by item and treatment."""
    gear = f"{launch.tag} ({launch.item})" if study.hidden_from else f"{launch.item}, {launch.treatment}"
    kind = "launch" if launch.kind == "launch" else f"launch ({launch.kind})"
    way = f", {launch.direction}" if len(study.design.directions) > 1 else ""
    return f"{kind} {launch.number}, round {launch.block}, {launch.surface}{way}: {gear}"
