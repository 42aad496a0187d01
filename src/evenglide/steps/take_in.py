"""Take in what was recorded elsewhere: a filled-in list, a phone's records, another copy of the log."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from evenglide.errors import Problem
from evenglide.fieldlog.bodies import Corrected, Read
from evenglide.intake.list_template import list_template
from evenglide.intake.lists import TakenList, take_in_list
from evenglide.intake.options import JudgeOptions
from evenglide.intake.phone_log import PhoneLog, is_phone_log, read_phone_log
from evenglide.intake.sheet import Sheet
from evenglide.steps.sealed_study import sealed_study
from evenglide.store.log import Appended, Log, read_log
from evenglide.store.log_connection import is_database
from evenglide.store.pages import write_page
from evenglide.store.study_folder import log_path
from evenglide.store.tables import read_list
from evenglide.store.texts import begins, read_text

TAKEN_FORMAT = "evenglide.taken-in/1"
TEMPLATE_FORMAT = "evenglide.list-template/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What was taken in.

    Parameters
    ----------
    source : str
    new, already, conflicts : int
        Events that were added, that were there, and whose id was taken by something else.
    filled, readings, corrections : int
        Of a list: rows with something in them, readings and corrections among the new events.
    doubts : tuple of Problem
        Cells that were kept as text, out of the analysis until corrected.
    kept_blank : tuple of int
        Launches that are blank in the list and have a reading in the log, which stands.
    ignored : tuple of str
        Columns that were not read.
    unreadable : tuple of Problem
        Of a phone's file: lines that hold no record.
    missing : int
        Of a phone's file: records that it promises and does not hold.
    """

    source: str
    new: int
    already: int
    conflicts: int
    filled: int = 0
    readings: int = 0
    corrections: int = 0
    doubts: tuple[Problem, ...] = ()
    kept_blank: tuple[int, ...] = ()
    ignored: tuple[str, ...] = ()
    unreadable: tuple[Problem, ...] = ()
    missing: int = 0

    def to_dict(self) -> Mapping[str, object]:
        """Return it as the plain ``evenglide.taken-in/1`` document."""
        return {"format": TAKEN_FORMAT, **asdict(self)}


def take_in(
    folder: str,
    source: str,
    *,
    sheet: str | None = None,
    decimal: str | None = None,
    encoding: str | None = None,
    keep_doubtful: bool = False,
) -> TakenIn:
    """Take a list, a phone's records or a copy of the log into a sealed study, in one transaction."""
    JudgeOptions(
        response="reading", treatment="launch", sheet=sheet, decimal=decimal, encoding=encoding
    ).checked()
    with Log(log_path(folder)) as log:
        if is_database(source):
            return _of_copy(source, log.merge(source))
        if is_phone_log(begins(source)):
            records = read_phone_log(read_text(source), where=source)
            added = log.append(records.drafts, study=records.study, where=source)
            return _of_phone(source, records, added)
        listed = read_list(source, sheet=sheet, encoding=encoding)
        return take_in_sheet(log, listed, source=source, decimal=decimal, keep_doubtful=keep_doubtful)


def take_in_sheet(
    log: Log, sheet: Sheet, *, source: str, decimal: str | None = None, keep_doubtful: bool = False
) -> TakenIn:
    """Take a list that was read already into an open log."""
    sealed = sealed_study(log.events(), where=str(log.path))
    taken = take_in_list(
        sheet,
        study=sealed.study,
        schedule=sealed.schedule,
        state=sealed.state,
        fingerprint=sealed.seal.fingerprint,
        decimal=decimal,
        keep_doubtful=keep_doubtful,
    )
    return _of_list(source, taken, log.record(taken.records))


def write_template(folder: str, out: str) -> int:
    """Write the list to fill in; return how many launches it has."""
    sealed = sealed_study(read_log(log_path(folder)), where=log_path(folder))
    write_page(out, list_template(sealed.study, sealed.schedule))
    return len(sealed.schedule.launches)


def taken_in_words(taken: TakenIn) -> str:
    """Tell what was taken in, for a terminal."""
    from evenglide.report.taken_in_text import incomplete_text, taken_in_text

    told = taken_in_text(
        source=taken.source,
        new=taken.new,
        readings=taken.readings,
        corrections=taken.corrections,
        conflicts=taken.conflicts,
        doubts=taken.doubts,
        kept_blank=taken.kept_blank,
        ignored=taken.ignored,
    )
    lacking = incomplete_text(unreadable=taken.unreadable, missing=taken.missing)
    return "\n".join(filter(None, (told, lacking)))


def _of_copy(source: str, added: Appended) -> TakenIn:
    return TakenIn(
        source=source, new=len(added.new), already=len(added.already), conflicts=len(added.conflicts)
    )


def _of_phone(source: str, records: PhoneLog, added: Appended) -> TakenIn:
    return TakenIn(
        source=source,
        new=len(added.new),
        already=len(added.already),
        conflicts=len(added.conflicts),
        readings=sum(isinstance(event.body, Read) for event in added.new),
        corrections=sum(isinstance(event.body, Corrected) for event in added.new),
        unreadable=records.unreadable,
        missing=records.missing,
    )


def _of_list(source: str, taken: TakenList, added: Appended) -> TakenIn:
    return TakenIn(
        source=source,
        new=len(added.new),
        already=len(added.already),
        conflicts=len(added.conflicts),
        filled=taken.filled,
        readings=taken.readings,
        corrections=taken.corrections,
        doubts=taken.doubts,
        kept_blank=taken.kept_blank,
        ignored=taken.ignored,
    )
