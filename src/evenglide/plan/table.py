"""schedule.csv: the list of launches as people read it, and back.

One row for each launch, UTF-8, lines end with LF. How the order was drawn stands in the last three
columns of the first row. A name that a spreadsheet would take for a formula is marked as text.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import get_args

from evenglide.constants import EXACT_INTEGER_LIMIT
from evenglide.errors import Problem, StudyError
from evenglide.show.cells import as_text, from_text
from evenglide.show.typed import did_you_mean, listing, quoted
from evenglide.study.schedule import LaunchKind, Schedule, ScheduledLaunch
from evenglide.study.study import Study

COLUMNS = (
    *("launch", "kind", "outing", "round", "set_up", "surface", "direction", "preparation", "item"),
    *("treatment", "tag"),
)
DRAWN = ("seed", "order_rule", "largest_imbalance")
KINDS: tuple[LaunchKind, ...] = get_args(LaunchKind)
_COUNTED = ("launch", "outing", "set_up")
_MAY_BE_BLANK = ("tag",)
FILE = "schedule.csv"


def write_schedule(schedule: Schedule) -> str:
    """Write a schedule as text.

    Parameters
    ----------
    schedule : Schedule

    Returns
    -------
    str
        Text of schedule.csv.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([*COLUMNS, *DRAWN])
    limit = "" if schedule.largest_imbalance is None else str(schedule.largest_imbalance)
    drawn = [str(schedule.seed), schedule.rule, limit]
    for at, one in enumerate(schedule.launches):
        place = [one.number, one.kind, one.outing, one.block, one.set_up, one.surface, one.direction]
        gear = [one.preparation, one.item, one.treatment, one.tag]
        row = [*place, *gear, *(drawn if at == 0 else [""] * len(DRAWN))]
        writer.writerow([as_text(str(cell)) for cell in row])
    return text.getvalue()


def read_schedule(content: bytes | str, study: Study | None = None) -> Schedule:
    """Read the text of schedule.csv.

    Parameters
    ----------
    content : bytes or str
        Bytes must be UTF-8; a byte order mark is passed over.
    study : Study or None
        Names in the list must be names of this study.

    Returns
    -------
    Schedule
        Launches by number, whatever the order of the rows.

    Raises
    ------
    StudyError
        With every problem of the list, each with its column and line.
    """
    rows = _rows(content)
    header, body = rows[0], rows[1:]
    problems = list(_header_problems(header[1]))
    if problems:
        raise StudyError(problems)
    cells = [(line, dict(zip(header[1], [*row, *[""] * len(header[1])], strict=False))) for line, row in body]
    for line, row in body:
        if len(row) > len(header[1]):
            problems.append(
                _problem("row-too-long", f"line {line}", f"{len(row)} cells", f"{len(header[1])}")
            )
    for line, cell in cells:
        problems += _cell_problems(line, cell, study)
    if not problems:
        problems += _number_problems(cells)
    problems += _drawn_problems(cells)
    if problems:
        raise StudyError(problems)
    launches = sorted((_launch(cell) for _, cell in cells), key=lambda one: one.number)
    problems += _preparation_problems(launches)
    if problems:
        raise StudyError(problems)
    drawn = {name: _drawn(cells, name) for name in DRAWN}
    return Schedule(
        launches=tuple(launches),
        seed=int(drawn["seed"]),
        rule=drawn["order_rule"],
        largest_imbalance=int(drawn["largest_imbalance"]) if drawn["largest_imbalance"] else None,
    )


Cells = Sequence[tuple[int, Mapping[str, str]]]


def _rows(content: bytes | str) -> list[tuple[int, list[str]]]:
    """Rows with their line numbers, blank ones left out, cells trimmed."""
    try:
        text = content if isinstance(content, str) else content.decode("utf-8")
        reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
        rows = [(reader.line_num, [from_text(cell.strip()) for cell in row]) for row in reader]
    except (UnicodeDecodeError, csv.Error) as error:
        found = f"a file that is no table ({error})"
        raise StudyError([_problem("damaged-schedule", FILE, found, "a CSV file in UTF-8")]) from error
    rows = [(line, row) for line, row in rows if any(row)]
    if len(rows) < 2:
        raise StudyError([_problem("empty-schedule", FILE, "no launches", "a heading and one row or more")])
    return rows


def _header_problems(header: Sequence[str]) -> list[Problem]:
    known = [*COLUMNS, *DRAWN]
    problems = []
    for name in known:
        if header.count(name) != 1:
            found = "no such column" if name not in header else f"{header.count(name)} such columns"
            problems.append(_problem("schedule-column", f"column {quoted(name)}", found, "exactly one"))
    for name in dict.fromkeys(header):
        if name not in known:
            remedy = did_you_mean(name, known, otherwise="Take the column out.")
            found = f"a column {quoted(name)}"
            problems.append(_problem("schedule-column", "line 1", found, listing(known), remedy))
    return problems


def _cell_problems(line: int, cell: Mapping[str, str], study: Study | None) -> list[Problem]:
    problems = []
    for name in COLUMNS:
        where, value = f"{name}, line {line}", cell[name]
        if name in _COUNTED:
            if not _is_count(value) or int(value) < 1:
                problems.append(_problem("schedule-number", where, quoted(value), "a whole number from 1"))
        elif not value and name not in _MAY_BE_BLANK:
            problems.append(_problem("blank-cell", where, "nothing", f"the {name.replace('_', ' ')}"))
        elif name == "kind" and value not in KINDS:
            problems.append(_problem("schedule-kind", where, quoted(value), f"one of {listing(KINDS)}"))
        elif value and (known := _names(study, name)) is not None and value not in known:
            remedy = did_you_mean(value, known, otherwise="Correct it here or in the study.")
            problems.append(
                _problem("not-in-study", where, quoted(value), f"one of {listing(known)}", remedy)
            )
    return problems


def _is_count(value: str) -> bool:
    """Whether a text is a whole number that every reader of the log holds exactly."""
    return value.isdecimal() and value.isascii() and len(value) < 20 and int(value) < EXACT_INTEGER_LIMIT


def _names(study: Study | None, column: str) -> list[str] | None:
    """Names that a study knows for a column; None where it says nothing."""
    if study is None:
        return None
    return {
        "surface": [one.name for one in study.surfaces],
        "direction": list(study.design.directions),
        "item": [one.name for one in study.items],
        "treatment": [one.name for one in study.treatments],
    }.get(column)


def _number_problems(cells: Cells) -> list[Problem]:
    """Launch numbers run from 1 without gaps, each once."""
    seen: dict[int, int] = {}
    problems = []
    for line, cell in cells:
        number = int(cell["launch"])
        if number in seen:
            found = f"{number}, as in line {seen[number]}"
            problems.append(_problem("schedule-number", f"launch, line {line}", found, "each number once"))
        seen.setdefault(number, line)
    missing = sorted(set(range(1, len(cells) + 1)) - seen.keys())
    if missing and not problems:
        expected = f"numbers 1 to {len(cells)} without gaps"
        problems.append(_problem("schedule-number", "launch", f"no launch {missing[0]}", expected))
    return problems


def _drawn(cells: Cells, name: str) -> str:
    return next((cell[name] for _, cell in cells if cell[name]), "")


def _drawn_problems(cells: Cells) -> list[Problem]:
    """How the order was drawn must stand there, once or the same throughout."""
    problems = []
    for name in DRAWN:
        values = list(dict.fromkeys(cell[name] for _, cell in cells if cell[name]))
        counted = name != "order_rule"
        wrong = [value for value in values if counted and not _is_count(value)]
        if wrong:
            problems.append(_problem("schedule-draw", name, quoted(wrong[0]), "a whole number below 2^53"))
        elif len(values) > 1:
            problems.append(_problem("schedule-draw", name, listing(values), "one value"))
        elif not values and name != "largest_imbalance":
            expected = "how the order was drawn, in the first row"
            problems.append(_problem("schedule-draw", name, "nothing", expected))
    return problems


def _preparation_problems(launches: Sequence[ScheduledLaunch]) -> list[Problem]:
    """A preparation is one item made ready once; a set-up is one place and direction."""
    first: dict[str, ScheduledLaunch] = {}
    rigs: dict[int, ScheduledLaunch] = {}
    problems = []
    for one in launches:
        known = first.setdefault(one.preparation, one)
        for name in ("block", "item", "treatment", "tag"):
            if getattr(known, name) != getattr(one, name):
                where = f"launch {one.number}"
                found = f"{one.preparation} with {name} {quoted(getattr(one, name))}"
                expected = f"{quoted(getattr(known, name))}, as in launch {known.number}"
                problems.append(_problem("preparation-differs", where, found, expected))
        rig = rigs.setdefault(one.set_up, one)
        if (rig.surface, rig.direction) != (one.surface, one.direction):
            found = f"set-up {one.set_up} on {quoted(one.surface)}, {quoted(one.direction)}"
            expected = f"{quoted(rig.surface)}, {quoted(rig.direction)}, as in launch {rig.number}"
            problems.append(_problem("set-up-differs", f"launch {one.number}", found, expected))
    return problems


def _launch(cell: Mapping[str, str]) -> ScheduledLaunch:
    kind = next(kind for kind in KINDS if kind == cell["kind"])
    return ScheduledLaunch(
        number=int(cell["launch"]),
        kind=kind,
        outing=int(cell["outing"]),
        block=cell["round"],
        set_up=int(cell["set_up"]),
        surface=cell["surface"],
        direction=cell["direction"],
        preparation=cell["preparation"],
        item=cell["item"],
        treatment=cell["treatment"],
        tag=cell["tag"],
    )


def _problem(code: str, where: str, *told: str) -> Problem:
    found, expected, *rest = told
    remedy = rest[0] if rest else "Correct it, or plan anew before the seal."
    whole = where if where == FILE else f"{FILE}, {where}"
    return Problem(code=code, where=whole, found=found, expected=expected, remedy=remedy)
