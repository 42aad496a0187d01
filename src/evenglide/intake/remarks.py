"""What was noticed while a table was taken in, and is no problem."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One thing noticed: a stable code and its facts; the sentence is made elsewhere.

    Parameters
    ----------
    code : str
        Kind of remark:

        ``names-alike``
            `column`, `groups` (tuples of names that differ only in letter case, spaces or the way
            their characters are coded).
        ``label-reused``
            `column`, `labels` (how many preparation labels stand in several cells of the design),
            `over_surfaces_only` (how many of them only on several surfaces), `examples`.
        ``decimal-comma``
            `column`: its decimal commas were recognised without being asked for.
        ``sheet-chosen``
            `sheet`, `others`: several sheets hold data, the first was read.
        ``flag-read-as-yes``
            `column`, `text`, `rows`: a cell that people may mean as *no* counts as *yes*.
        ``void-and-at-least``
            `rows`: launches flagged as both; they count as set aside.
        ``encoding-by-mark``
            `encoding`, `asked`: the file begins with a byte order mark, which won over the option.
    facts : mapping
        Plain values.
    """

    code: str
    facts: Mapping[str, object]
