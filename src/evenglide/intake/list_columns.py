"""The columns of a filled-in list of launches: which there are, and what stands in each cell.

Columns are known by name: the person who fills a list in must not have to name them. A name that
nearly fits is a problem, since what stands below it would be lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from evenglide.intake.labels import LOOKS_LIKE_NO, NO
from evenglide.intake.numbers import FAULTS, Fault, read_numbers
from evenglide.intake.problems import Problems
from evenglide.intake.sheet import Cell, Sheet, cell_text, is_blank
from evenglide.show.cells import from_text
from evenglide.show.typed import did_you_mean, listing, nearest, quoted

Filled = Literal[
    "reading", "at least", "set aside", "value seen", "stopped", "peg lost", "order made", "reader", "note"
]
PLANNED: Mapping[str, str] = {
    "kind": "kind",
    "outing": "outing",
    "round": "block",
    "set up": "set_up",
    "surface": "surface",
    "direction": "direction",
    "preparation": "preparation",
    "item": "item",
    "treatment": "treatment",
    "tag": "tag",
}
"""Columns that a list may show and that must agree with the plan, and what they are called there."""
FILLED: tuple[Filled, ...] = (
    "reading",
    "at least",
    "set aside",
    "value seen",
    "stopped",
    "peg lost",
    "order made",
    "reader",
    "note",
)
LAUNCH = "launch"
MEANS_YES = frozenset({"yes", "y", "true", "x", "1", "ja", "oui", "✓", "✔"})
"""What people write to tick a cell (common practice, no source)."""
REMEDY = "Correct the cell, or take the list in with --keep-doubtful and correct it later."


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A cell that cannot be understood: its record from 0, its column, why."""

    index: int
    column: str
    fault: Fault


class ListColumns:
    """The columns of a list.

    Parameters
    ----------
    sheet : Sheet
    response : str
        Name of the response: the column of readings may be called so, or ``reading``.
    decimal : {",", "."} or None
        Decimal mark that was asked for.
    """

    def __init__(self, sheet: Sheet, *, response: str, decimal: str | None) -> None:
        self.problems = Problems(sheet.problems)
        self.ignored: tuple[str, ...] = ()
        self._sheet = sheet
        self._decimal = decimal
        self._place: dict[str, int] = {}
        self._names = {_folded(name): name for name in (LAUNCH, *PLANNED, *FILLED)}
        self._names[_folded(response)] = "reading"
        self._find()

    def __len__(self) -> int:
        return len(self._sheet.row)

    def has(self, column: str) -> bool:
        """Whether the list has a column."""
        return column in self._place

    def cell(self, column: str, index: int) -> Cell:
        """Return what stands in a column, by record from 0; None where there is no such column."""
        return self._sheet.columns[self._place[column]][index] if self.has(column) else None

    def text(self, column: str, index: int) -> str:
        """Return it as text, as it was typed."""
        cell = self.cell(column, index)
        return repr(cell) if isinstance(cell, float) and column == "reading" else cell_text(cell)

    def blank(self, column: str, index: int) -> bool:
        """Whether nothing stands there."""
        return is_blank(self.cell(column, index))

    def filled(self, index: int) -> bool:
        """Whether a person has written anything into a row."""
        return any(not self.blank(column, index) for column in FILLED)

    def address(self, column: str, index: int) -> str:
        """Say where a cell stands."""
        return self._sheet.address(index, self._place[column])

    def row_text(self, index: int) -> str:
        """Write a whole row as text."""
        cells = (cell_text(column[index]) for column in self._sheet.columns)
        return "; ".join(
            f"{name}: {text}" for name, text in zip(self._sheet.header, cells, strict=True) if text
        )

    def numbers(self, column: str) -> tuple[list[float | None], list[Doubt]]:
        """Read a column of numbers: values (None where blank or doubtful), and doubts."""
        if not self.has(column):
            return [None] * len(self), []
        cells = self._sheet.columns[self._place[column]]
        read = read_numbers(cells, separator=self._sheet.separator, asked=self._decimal)
        faulty = {index for index, _ in read.faults}
        values = [
            None if read.blank[index] or index in faulty else float(read.values[index])
            for index in range(len(self))
        ]
        return values, [Doubt(index=index, column=column, fault=fault) for index, fault in read.faults]

    def flags(self, column: str) -> tuple[list[bool | None], list[Doubt]]:
        """Read a column of ticks: None where blank; anything but a clear yes or no is a doubt."""
        values: list[bool | None] = []
        doubts: list[Doubt] = []
        for index in range(len(self)):
            word = self.text(column, index).casefold()
            values.append(None if not word else word in MEANS_YES)
            if word not in MEANS_YES and word not in NO:
                doubts.append(Doubt(index=index, column=column, fault=DOUBTFUL_TICK))
        return values, doubts

    def causes(self) -> tuple[list[str], list[Doubt]]:
        """Read why launches were set aside: "" where they were not."""
        texts = [self.text("set aside", index) for index in range(len(self))]
        causes = ["" if text.casefold() in NO else text for text in texts]
        doubts = [
            Doubt(index=index, column="set aside", fault=DOUBTFUL_CAUSE)
            for index, text in enumerate(texts)
            if text.casefold() in LOOKS_LIKE_NO
        ]
        return causes, doubts

    def tell(self, doubts: Sequence[Doubt]) -> None:
        """Note doubts as problems, in the order of the list."""
        for doubt in sorted(doubts, key=lambda doubt: (doubt.index, self._place[doubt.column])):
            self.problems.add(
                doubt.fault.code,
                where=self.address(doubt.column, doubt.index),
                found=quoted(self.text(doubt.column, doubt.index))
                if not self.blank(doubt.column, doubt.index)
                else "nothing",
                expected=doubt.fault.expected,
                remedy=doubt.fault.remedy if "--" not in doubt.fault.remedy else REMEDY,
            )

    def _find(self) -> None:
        """Know the columns by their names."""
        ignored: list[str] = []
        for place, header in enumerate(self._sheet.header):
            name = self._names.get(_folded(from_text(header)))
            if name is None and header and nearest(_folded(header), list(self._names)):
                self._unknown(place, header)
            elif name is None:
                ignored.append(header)
            elif name in self._place:
                self.problems.add(
                    "column-twice",
                    where=header,
                    found=f"two columns for {quoted(name)}",
                    expected="one",
                    remedy="Rename or remove the one that is not meant.",
                )
            else:
                self._place[name] = place
        self.ignored = tuple(filter(None, ignored))
        if LAUNCH not in self._place:
            self.problems.add(
                "no-launch-column",
                where="the list",
                found=f"the columns {listing([name for name in self._sheet.header if name])}",
                expected='a column "launch" with the numbers of the launches',
                remedy="Fill in the list that evenglide take-in --template writes.",
            )

    def _unknown(self, place: int, header: str) -> None:
        self.problems.add(
            "unknown-column",
            where=self._sheet.address(0, place),
            found=f"a column {quoted(header)}",
            expected="a column of the list by its exact name, or one with a name of its own",
            remedy=did_you_mean(_folded(header), list(self._names), otherwise="Rename it."),
        )


def _folded(name: str) -> str:
    """Name of a column without letter case and the choice between space and underscore.

    Examples
    --------
    >>> _folded(" At_Least ")
    'at least'
    """
    return " ".join(name.replace("_", " ").casefold().split())


DOUBTFUL_TICK = Fault(
    code="doubtful-tick",
    expected="yes or no, or nothing",
    remedy="Write yes or no; remarks belong in the column of notes.",
)
DOUBTFUL_CAUSE = Fault(
    code="doubtful-cause",
    expected="why the launch was set aside, or nothing if it was not",
    remedy="Empty the cell, or write the cause.",
)
NO_SUCH_LAUNCH = Fault(
    code="no-such-launch",
    expected="the number of a launch of the schedule",
    remedy="Correct the number.",
)
LAUNCH_TWICE = Fault(
    code="launch-twice", expected="one row for each launch", remedy="Correct the number, or remove the row."
)
OTHER_LAUNCH = Fault(
    code="not-as-planned",
    expected="what the schedule says of this launch",
    remedy="Check the launch number: the row may belong to another launch. If the plan was not kept, "
    "leave this cell empty and say so in the note.",
)
NOT_POSITIVE = Fault(
    code="not-positive",
    expected="a number above nought, as ratios need",
    remedy="Correct the reading, or set the launch aside with its cause.",
)
NO_BOUND = Fault(
    code="no-bound",
    expected="the distance up to which the launch was seen",
    remedy="Write that distance.",
)
BLANK = FAULTS["blank-cell"]
