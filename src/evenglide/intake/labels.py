"""Columns of names and columns of flags, coded in order of first appearance."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.intake.numbers import FAULTS, Fault, is_error_value
from evenglide.intake.remarks import Remark
from evenglide.intake.sheet import Cell, UncalculatedFormula, cell_text
from evenglide.readings.launches import Factor
from evenglide.typing import BoolArray, IntArray

NO = frozenset({"", "0", "no", "false"})
LOOKS_LIKE_NO = frozenset(
    {"n", "f", "none", "null", "nan", "na", "n/a", "-", "--", "–", "—", "off", "ok", "nein", "non"}
)
"""Texts that people write for *no* and that count as *yes* here, since a cause may be any text: worth a
remark (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Labels:
    """A column of names.

    Parameters
    ----------
    names : tuple of str
        Trimmed, in order of first appearance; ``""`` stands for blank cells, if there are any.
    codes : array of int, shape (rows,)
        Index into `names`.
    faults : tuple of (int, Fault)
        Record, from 0, and what is wrong with it.
    """

    names: tuple[str, ...]
    codes: IntArray
    faults: tuple[tuple[int, Fault], ...]


def read_labels(cells: Sequence[Cell]) -> Labels:
    """Read a column of names.

    Parameters
    ----------
    cells : sequence of cells
        Numbers become text: 1 and 1.0 are ``"1"``.

    Returns
    -------
    Labels
    """
    seen: dict[Cell, int] = {}  # as written, so that each spelling is trimmed once
    written = np.array([seen.setdefault(cell, len(seen)) for cell in cells], dtype=np.int64)
    names: dict[str, int] = {}
    name_of = np.array([names.setdefault(cell_text(cell), len(names)) for cell in seen], dtype=np.int64)
    faults: list[tuple[int, Fault]] = []
    for code, cell in enumerate(seen):
        if isinstance(cell, UncalculatedFormula) or is_error_value(cell_text(cell)):
            fault = "formula-not-calculated" if isinstance(cell, UncalculatedFormula) else "error-value"
            faults += [(int(index), FAULTS[fault]) for index in np.flatnonzero(written == code)]
    return Labels(
        names=tuple(names), codes=name_of[written], faults=tuple(sorted(faults, key=lambda fault: fault[0]))
    )


def flags_set(labels: Labels) -> BoolArray:
    """Tell which flags are set: blank, 0, no and false in any case are not, anything else is."""
    return np.array([not _means_no(name) for name in labels.names], dtype=np.bool_)[labels.codes]


def doubtful_flags(labels: Labels, column: str) -> tuple[Remark, ...]:
    """Point at texts that people may mean as *no* and that count as *yes*."""
    return tuple(
        Remark(
            code="flag-read-as-yes",
            facts={"column": column, "text": name, "rows": int(np.count_nonzero(labels.codes == code))},
        )
        for code, name in enumerate(labels.names)
        if name.casefold() in LOOKS_LIKE_NO
    )


def blank_label(factor: Factor) -> BoolArray:
    """Tell which launches have no name in this column."""
    blank: BoolArray = factor.codes == (factor.labels.index("") if "" in factor.labels else -1)
    return blank


def names_alike(factor: Factor, column: str) -> tuple[Remark, ...]:
    """Point at names of one column that differ only in letter case, spaces or character codes."""
    groups: dict[str, list[str]] = {}
    for name in factor.labels:
        if name:
            groups.setdefault(_essence(name), []).append(name)
    alike = tuple(tuple(group) for group in groups.values() if len(group) > 1)
    return (Remark(code="names-alike", facts={"column": column, "groups": alike}),) if alike else ()


def first_in_order(factor: Factor, first: str) -> Factor:
    """Move one name to the front and keep the order of the others."""
    front = factor.labels.index(first)
    order = [front, *(code for code in range(len(factor.labels)) if code != front)]
    new_code = np.empty(len(order), dtype=np.int64)
    new_code[order] = np.arange(len(order))
    return Factor(
        labels=tuple(factor.labels[code] for code in order), codes=new_code[factor.codes], named=factor.named
    )


def _means_no(text: str) -> bool:
    """Whether a flag is not set; 0.0 is nought as well as 0 (tables written by programs)."""
    folded = text.casefold()
    return folded in NO or (folded.startswith("0.") and not folded[2:].strip("0"))


def _essence(name: str) -> str:
    """What is left of a name without letter case, spaces and the choice between equal characters."""
    return "".join(unicodedata.normalize("NFKC", name).casefold().split())
