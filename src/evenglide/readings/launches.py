"""Launches column by column: the one shape in which readings reach the analysis.

A table that somebody already has and the log of a study both end here. Columns, not rows, because
a table may hold a hundred thousand launches.
"""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.typing import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """A column of names, coded.

    Parameters
    ----------
    labels : tuple of str
        Names in order of first appearance (treatments: the reference first). The labels of
        preparations may repeat: two preparations are the same only if their codes are.
    codes : array of int, shape (launches,)
        Index into `labels` for each launch.
    named : bool
        Whether the table had this column; if not, all launches share one label.
    """

    labels: tuple[str, ...]
    codes: IntArray
    named: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Launches:
    """All launches of a table or a study, valid ones and those set aside.

    Parameters
    ----------
    response, unit : str, str or None
        Name of the response and its unit, where known.
    value : array of float, shape (launches,)
        Reading in the response's unit; NaN only where `void` is set and no reading was given. An
        at-least reading holds its bound.
    treatment, surface, block, item, preparation, direction, mark, session : Factor
        What each launch belongs to. `mark` is the kind of mark. A preparation's code is unique
        over the table; it spans surfaces only when `shared`. A launch set aside may have the label
        ``""`` in block, item, preparation and session, where it is not known; no valid one has in a
        named column.
    order : array of float, shape (launches,), or None
        Rank of the launch over the whole table, from 0 (ties share the middle rank); None where the
        order is not known, NaN for a launch set aside whose own order is not.
    void : array of bool, shape (launches,)
        Set aside.
    cause : tuple of str
        Cause of each void in `void`'s order of rows; "" for valid launches.
    at_least : array of bool, shape (launches,)
        The reading is a lower bound.
    row : array of int, shape (launches,)
        Row of the table, the header being row 1.
    shared : bool
        One preparation serves several surfaces.
    decimals : int
        Most decimals that any reading was written with.
    """

    response: str
    unit: str | None
    value: FloatArray
    treatment: Factor
    surface: Factor
    block: Factor
    item: Factor
    preparation: Factor
    direction: Factor
    mark: Factor
    session: Factor
    order: FloatArray | None
    void: BoolArray
    cause: tuple[str, ...]
    at_least: BoolArray
    row: IntArray
    shared: bool
    decimals: int
