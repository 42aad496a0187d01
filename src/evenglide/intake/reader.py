"""The columns of a sheet by the role they play, read with every problem noted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenglide.intake.labels import Labels, blank_label, doubtful_flags, flags_set, read_labels
from evenglide.intake.numbers import FAULTS, Fault, Numbers, read_numbers
from evenglide.intake.options import ROLES, JudgeOptions, Role, flag_of
from evenglide.intake.problems import Problems
from evenglide.intake.remarks import Remark
from evenglide.intake.sheet import Cell, Sheet, cell_text
from evenglide.readings.launches import Factor
from evenglide.show.typed import did_you_mean, listing, quoted
from evenglide.typing import BoolArray


class RoleReader:
    """Reads columns by role; collects problems and remarks.

    Parameters
    ----------
    sheet : Sheet
    options : JudgeOptions
        Checked.
    """

    def __init__(self, sheet: Sheet, options: JudgeOptions) -> None:
        self.problems = Problems(sheet.problems)
        self.remarks: list[Remark] = list(sheet.remarks)
        self._sheet = sheet
        self._options = options
        self._place: dict[Role, int] = {}
        for role in ROLES:
            self._find(role)

    def has(self, role: Role) -> bool:
        """Whether a column was named for the role and is there."""
        return role in self._place

    def lacks(self, role: Role) -> bool:
        """Whether a column was named for the role and is not there."""
        return self._options.column(role) is not None and not self.has(role)

    def address(self, role: Role, index: int) -> str:
        """Say where a record's cell of a role stands."""
        return self._sheet.address(index, self._place[role])

    def shown(self, role: Role, index: int) -> str:
        """Quote what stands there."""
        return quoted(cell_text(self._cells(role)[index]))

    def labels(self, role: Role, *, required: BoolArray) -> Factor:
        """Read names; a blank where one is required is a problem."""
        labels = self._labels(role)
        factor = Factor(labels=labels.names, codes=labels.codes, named=True)
        self._blanks(role, blank_label(factor) & required)
        return factor

    def numbers(self, role: Role, *, required: BoolArray) -> Numbers:
        """Read numbers; a blank where one is required is a problem."""
        numbers = read_numbers(
            self._cells(role), separator=self._sheet.separator, asked=self._options.decimal
        )
        self._faults(role, numbers.faults)
        self._blanks(role, numbers.blank & required)
        if numbers.comma:
            self.remarks.append(Remark(code="decimal-comma", facts={"column": self._name(role)}))
        return numbers

    def flags(self, role: Role) -> tuple[BoolArray, Labels]:
        """Read flags, and the texts they are written with; without the column none is set."""
        if not self.has(role):
            nothing = np.zeros(len(self._sheet.row), dtype=np.int64)
            labels = Labels(names=("",), codes=nothing, faults=())
        else:
            labels = self._labels(role)
            self.remarks += doubtful_flags(labels, self._name(role))
        return flags_set(labels), labels

    def _find(self, role: Role) -> None:
        """Find the column of a role; note it if it is missing or cannot be told from another."""
        name = self._options.column(role)
        if name is None:
            return
        places = [place for place, header in enumerate(self._sheet.header) if header == name]
        if len(places) == 1:
            self._place[role] = places[0]
        elif places:
            self.problems.add(
                "column-twice",
                where=flag_of(role),
                found=f"{len(places)} columns named {quoted(name)}",
                expected="one",
                remedy="Rename all but the one that is meant.",
            )
        else:
            names = list(dict.fromkeys(filter(None, self._sheet.header)))
            self.problems.add(
                "no-such-column",
                where=flag_of(role),
                found=quoted(name),
                expected=f"one of the columns {listing(names)}",
                remedy=did_you_mean(name, names, otherwise="Name one of these."),
            )

    def _cells(self, role: Role) -> Sequence[Cell]:
        return self._sheet.columns[self._place[role]]

    def _name(self, role: Role) -> str:
        return self._sheet.header[self._place[role]]

    def _labels(self, role: Role) -> Labels:
        labels = read_labels(self._cells(role))
        self._faults(role, labels.faults)
        return labels

    def _faults(self, role: Role, faults: Sequence[tuple[int, Fault]]) -> None:
        for index, fault in faults:
            self.problems.add(
                fault.code,
                where=self.address(role, index),
                found=self.shown(role, index),
                expected=fault.expected,
                remedy=fault.remedy,
            )

    def _blanks(self, role: Role, blank: BoolArray) -> None:
        numeric = role in ("response", "order")
        remedies = {
            "response": "Write what was measured, or set the launch aside (--void) with its cause.",
            "order": "Number the launches as they were made.",
        }
        merged = " Cells merged with the one above count as blank." if self._sheet.kind == "workbook" else ""
        for index in np.flatnonzero(blank):
            self.problems.add(
                "blank-cell",
                where=self.address(role, int(index)),
                found="nothing",
                expected=FAULTS["blank-cell"].expected
                if numeric
                else f"a name in every row ({flag_of(role)})",
                remedy=remedies.get(role, f"Write it in every row.{merged}"),
            )
