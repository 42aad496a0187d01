"""A filled-in list of launches to events of a log: nothing guessed, nothing taken in twice.

What a cell became has an id made of the study, the launch and the column. So the same list taken in
again adds nothing, and a cell that was changed since becomes a correction of what it said before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from evenglide.errors import Problem, TableError
from evenglide.fieldlog.bodies import (
    AtLeast,
    Body,
    Corrected,
    Launched,
    Noted,
    PegLost,
    Read,
    SetAside,
    Stopped,
)
from evenglide.fieldlog.events import derived_id
from evenglide.fieldlog.state import Fact, State
from evenglide.intake.list_columns import (
    BLANK,
    LAUNCH,
    LAUNCH_TWICE,
    NO_BOUND,
    NO_SUCH_LAUNCH,
    NOT_POSITIVE,
    OTHER_LAUNCH,
    PLANNED,
    Doubt,
    ListColumns,
)
from evenglide.intake.sheet import Sheet
from evenglide.show.cells import from_text
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study

AGAIN = "the list was taken in again with another cell"


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenList:
    """What a list says beyond the log.

    Parameters
    ----------
    records : tuple of (str, Body)
        Ids and bodies to record, in the order of the list; empty if the log says it all.
    filled : int
        Rows that somebody has written into.
    readings, corrections : int
        Of `records`.
    doubts : tuple of Problem
        Cells that could not be understood, kept as text.
    kept_blank : tuple of int
        Launches whose cells are blank here though the log has a reading; it stands.
    ignored : tuple of str
        Columns that were not read.
    """

    records: tuple[tuple[str, Body], ...]
    filled: int
    readings: int
    corrections: int
    doubts: tuple[Problem, ...]
    kept_blank: tuple[int, ...]
    ignored: tuple[str, ...]


@dataclass(slots=True, kw_only=True)
class _Row:
    """One filled row as understood."""

    index: int
    launch: int
    reading: float | None = None
    text: str = ""
    at_least: bool | None = None
    cause: str = ""
    value_seen: bool | None = None
    stopped: bool | None = None
    peg_lost: bool | None = None
    order: float | None = None
    reader: str = ""
    note: str = ""
    doubts: list[Doubt] = field(default_factory=list)


def take_in_list(
    sheet: Sheet,
    *,
    study: Study,
    schedule: Schedule,
    state: State,
    fingerprint: str,
    decimal: str | None = None,
    keep_doubtful: bool = False,
) -> TakenList:
    """Take in a filled-in list.

    Parameters
    ----------
    sheet : Sheet
    study, schedule
        As sealed.
    state : State
        What the log says so far.
    fingerprint : str
        Of the seal.
    decimal : {",", "."} or None
        Decimal mark of numbers that stand as text.
    keep_doubtful : bool
        Keep the text of doubtful cells as unread readings instead of refusing the list.

    Returns
    -------
    TakenList

    Raises
    ------
    TableError
        Every doubtful cell, with its address; and what is wrong with the columns in any case.
    """
    columns = ListColumns(sheet, response=study.response, decimal=decimal)
    columns.problems.raise_if_any()
    rows, lost = _read_rows(columns, study, schedule)
    columns.tell([*(doubt for row in rows for doubt in row.doubts), *lost])
    if columns.problems and not keep_doubtful:
        raise TableError(columns.problems.listed())
    writer = _Writer(columns, study=study, state=state, fingerprint=fingerprint)
    for row in rows:
        writer.write(row)
    for index in sorted({doubt.index for doubt in lost}):
        writer.keep_row(index)
    readings = sum(isinstance(body, Read) for _, body in writer.records)
    return TakenList(
        records=tuple(writer.records),
        filled=sum(columns.filled(index) for index in range(len(columns))),
        readings=readings,
        corrections=sum(isinstance(body, Corrected) for _, body in writer.records),
        doubts=columns.problems.listed(),
        kept_blank=tuple(writer.kept_blank),
        ignored=columns.ignored,
    )


def _read_rows(columns: ListColumns, study: Study, schedule: Schedule) -> tuple[list[_Row], list[Doubt]]:
    """Read filled rows, and those whose launch cannot be told."""
    planned = {launch.number: launch for launch in schedule.launches}
    numbers, faults = columns.numbers(LAUNCH)
    lost = [doubt for doubt in faults if columns.filled(doubt.index)]
    unclear = {doubt.index for doubt in faults}
    filled = Counter(number for index, number in enumerate(numbers) if columns.filled(index))
    rows: list[_Row] = []
    for index, number in enumerate(numbers):
        if index in unclear or not (columns.filled(index) or number is not None):
            continue
        launch = None if number is None else planned.get(int(number)) if number.is_integer() else None
        if launch is None:
            fault = BLANK if number is None else NO_SUCH_LAUNCH
            lost.append(Doubt(index=index, column=LAUNCH, fault=fault))
        elif filled[number] > 1 and columns.filled(index):
            lost.append(Doubt(index=index, column=LAUNCH, fault=LAUNCH_TWICE))
        elif elsewhere := list(_other_launch(index, columns, launch)):
            lost += elsewhere
        else:
            rows.append(_Row(index=index, launch=launch.number))
    _fill(rows, columns)
    for row in rows:
        row.doubts += _doubts_of_row(row, study)
    return rows, lost


def _other_launch(index: int, columns: ListColumns, planned: ScheduledLaunch) -> Iterator[Doubt]:
    """Say where a filled row is not what the schedule says of its launch."""
    if columns.filled(index):
        for name, attribute in PLANNED.items():
            text = columns.text(name, index)
            if text and str(getattr(planned, attribute)).strip() not in (text, from_text(text)):
                yield Doubt(index=index, column=name, fault=OTHER_LAUNCH)


def _fill(rows: list[_Row], columns: ListColumns) -> None:
    """Read all cells of the rows, column by column: how a column is written shows over its length."""
    readings, reading_doubts = columns.numbers("reading")
    orders, order_doubts = columns.numbers("order made")
    causes, cause_doubts = columns.causes()
    ticks = {name: columns.flags(name) for name in ("at least", "value seen", "stopped", "peg lost")}
    doubts: dict[int, list[Doubt]] = {}
    tick_doubts = (doubt for _, found in ticks.values() for doubt in found)
    for doubt in (*reading_doubts, *order_doubts, *cause_doubts, *tick_doubts):
        doubts.setdefault(doubt.index, []).append(doubt)
    for row in rows:
        index = row.index
        row.reading, row.text = readings[index], columns.text("reading", index)
        row.order, row.cause = orders[index], causes[index]
        row.at_least, row.value_seen = ticks["at least"][0][index], ticks["value seen"][0][index]
        row.stopped, row.peg_lost = ticks["stopped"][0][index], ticks["peg lost"][0][index]
        row.reader, row.note = columns.text("reader", index), columns.text("note", index)
        row.doubts = doubts.get(index, [])


def _doubts_of_row(row: _Row, study: Study) -> Iterator[Doubt]:
    """Say what does not fit within a row."""
    if row.reading is not None and row.reading <= 0 and study.scale == "ratio" and not row.cause:
        yield Doubt(index=row.index, column="reading", fault=NOT_POSITIVE)
    if row.at_least and not row.text:
        yield Doubt(index=row.index, column="at least", fault=NO_BOUND)


class _Writer:
    """Turns rows into what the log does not yet say."""

    def __init__(self, columns: ListColumns, *, study: Study, state: State, fingerprint: str) -> None:
        self.records: list[tuple[str, Body]] = []
        self.kept_blank: list[int] = []
        self._columns = columns
        self._unit = study.unit
        self._fingerprint = fingerprint
        self._facts = {fact.entry.event: fact for fact in state.facts}
        self._state = state

    def write(self, row: _Row) -> None:
        """Record one row."""
        if not self._columns.filled(row.index):
            known = self._state.launches.get(row.launch)
            if known is not None and known.made:
                self.kept_blank.append(row.launch)
            return
        launch = row.launch
        self._mark(row, "at least", AtLeast(launch=launch) if row.at_least else None)
        self._mark(row, "stopped", Stopped(launch=launch) if row.stopped else None)
        self._mark(row, "peg lost", PegLost(launch=launch) if row.peg_lost else None)
        self._mark(row, "set aside", _set_aside(row))
        self._mark(row, "order made", None if row.order is None else Launched(launch=launch, order=row.order))
        self._reading(row)  # behind the cause of a void: a list does not tell which was known first
        self._mark(row, "note", Noted(launch=launch, words=row.note) if row.note else None)
        for doubt in row.doubts:
            if doubt.column != "reading":
                words = f"{doubt.column}: {self._columns.text(doubt.column, row.index)}"
                self._add(
                    derived_id(self._fingerprint, launch, "doubt", words), Noted(launch=launch, words=words)
                )

    def keep_row(self, index: int) -> None:
        """Keep the text of a row whose launch cannot be told."""
        words = self._columns.row_text(index)
        self._add(derived_id(self._fingerprint, "row", words), Noted(words=words))

    def _reading(self, row: _Row) -> None:
        """Record the cell of the reading, or that it changed."""
        identity = derived_id(self._fingerprint, row.launch, "reading")
        fact = self._facts.get(identity)
        doubtful = bool(row.doubts)
        if not row.text and not (doubtful and fact is None and row.at_least):
            if fact is not None and not fact.withdrawn:
                self.kept_blank.append(row.launch)
            return
        body = _read_body(row, unit=self._unit, doubtful=doubtful)
        if fact is None:
            if not self._said_elsewhere(row, body):
                self._add(identity, body)
        elif fact.withdrawn or not _same_reading(fact.body, body):
            changes = {"reader": body.reader} if body.reader else {}
            self._correct(
                row,
                "reading",
                fact,
                text=body.text,
                value=body.value,
                unit=body.unit,
                unread=body.unread,
                changes=changes,
            )

    def _said_elsewhere(self, row: _Row, body: Read) -> bool:
        """Whether another device has recorded the same reading; without a unit it is in the study's."""
        launch = self._state.launches.get(row.launch)
        stands = launch.reading if launch is not None else None
        if stands is None or stands.value is None:
            return False
        return stands.value == body.value and (None in (stands.unit, body.unit) or stands.unit == body.unit)

    def _mark(self, row: _Row, column: str, body: Body | None) -> None:
        """Record a cell that is no reading, that it changed, or that it was emptied."""
        if not self._columns.has(column) or any(doubt.column == column for doubt in row.doubts):
            return
        identity = derived_id(self._fingerprint, row.launch, column)
        fact = self._facts.get(identity)
        if fact is None:
            if body is not None:
                self._add(identity, body)
        elif body is None:
            if not fact.withdrawn:
                self._correct(row, column, fact, withdrawn=True)
        elif fact.withdrawn or fact.body.to_dict() != body.to_dict():
            content = {
                name: value
                for name, value in body.to_dict().items()
                if name not in ("kind", "version", "launch")
            }
            self._correct(row, column, fact, changes=content)

    def _correct(self, row: _Row, column: str, fact: Fact, **content: Any) -> None:
        """Record that a cell says something else than before."""
        identity = derived_id(self._fingerprint, row.launch, column, fact.latest, content)
        self._add(identity, Corrected(target=fact.latest, launch=row.launch, why=AGAIN, **content))

    def _add(self, identity: str, body: Body) -> None:
        if identity not in self._facts:
            self.records.append((identity, body))


def _read_body(row: _Row, *, unit: str | None, doubtful: bool) -> Read:
    """Make the body of a reading; a doubtful row leaves it unread."""
    said: dict[str, Any] = {"launch": row.launch, "text": row.text}
    said |= {"unread": True} if doubtful else {"value": row.reading}
    said |= {"unit": unit} if unit is not None else {}
    said |= {"reader": row.reader} if row.reader else {}
    return Read(**said)


def _same_reading(stands: Body, body: Read) -> bool:
    """Whether a cell says what stands; another way to write the same number is no change."""
    if not isinstance(stands, Read):
        return False
    same = stands.text == body.text if body.value is None else stands.value == body.value
    return same and stands.unread == body.unread and (not body.reader or stands.reader == body.reader)


def _set_aside(row: _Row) -> SetAside | None:
    if not row.cause:
        return None
    if row.value_seen is None:
        return SetAside(launch=row.launch, cause=row.cause)
    return SetAside(launch=row.launch, cause=row.cause, value_seen=row.value_seen)
