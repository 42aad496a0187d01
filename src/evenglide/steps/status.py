"""Where a study stands, and what comes next."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from evenglide.analysis.look_plan import check_rounds
from evenglide.fieldlog.departures import Files, departures_of
from evenglide.fieldlog.progress import Progress, progress_of, so_far
from evenglide.plan.table import read_schedule
from evenglide.readings.from_log import readings_from_log
from evenglide.readings.left_out import departures_of_readings
from evenglide.report.carried_out import posted_words
from evenglide.show.departures import Departure, gravest_first
from evenglide.store.folder_state import read_state
from evenglide.store.study_folder import has_schedule, read_schedule_file, read_study_file
from evenglide.study.document import read_study
from evenglide.study.study import Study

STATUS_FORMAT = "evenglide.status/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """A study, how far it has come, what was done otherwise than sealed and posted, and its checks."""

    study: Study
    progress: Progress
    fingerprint: str | None
    departures: tuple[Departure, ...]
    checks: tuple[int, ...] = ()
    posted: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, object]:
        """Return the status as the plain ``evenglide.status/1`` document; hidden treatments stay hidden."""
        progress = asdict(self.progress)
        if progress["next_launch"] and self.study.hidden_from:
            progress["next_launch"]["treatment"] = None
        return {
            "format": STATUS_FORMAT,
            "title": self.study.title,
            "fingerprint": self.fingerprint,
            "progress": progress,
            "departures": [asdict(one) for one in self.departures],
            "checks": list(self.checks),
            "posted": list(self.posted),
        }


def status_of_folder(folder: str) -> Status:
    """Look at the files and the log of a study; the sealed texts count once there are any."""
    state, events = read_state(folder)
    if state.seal is None:
        study = read_study(read_study_file(folder))
        schedule = read_schedule(read_schedule_file(folder), study) if has_schedule(folder) else None
        progress = progress_of(schedule, state)
        checks = () if schedule is None else check_rounds(study, schedule)
        return Status(study=study, progress=progress, fingerprint=None, departures=(), checks=checks)
    study = read_study(state.seal.study_text)
    sealed = read_schedule(state.seal.schedule_text, study)
    files = Files(study_text=_text(read_study_file(folder)), schedule_text=None)
    if has_schedule(folder):
        files = Files(study_text=files.study_text, schedule_text=_text(read_schedule_file(folder)))
    progress = progress_of(sealed, state)
    told = (
        *departures_of(study, sealed, state, arrived=events, files=files),
        *departures_of_readings(readings_from_log(study, sealed, state)),
    )
    departures = so_far(gravest_first(told), progress, hidden=bool(study.hidden_from))
    return Status(
        study=study,
        progress=progress,
        fingerprint=state.seal.fingerprint,
        departures=departures,
        checks=check_rounds(study, sealed),
        posted=posted_words(state),
    )


def status_in_words(folder: str, status: Status) -> str:
    """Tell a status for a terminal."""
    from evenglide.report.status_text import status_text

    return status_text(
        status.study,
        status.progress,
        departures=status.departures,
        fingerprint=status.fingerprint,
        folder=folder,
        checks=status.checks,
        posted=status.posted,
    )


def _text(content: bytes) -> str:
    """Text of a file as it stands; what is no UTF-8 cannot be what was sealed."""
    return content.decode("utf-8", errors="replace")
