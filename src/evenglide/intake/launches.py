"""A sheet to launches: the one door through which tables reach the analysis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.intake.canonical import sheet_sha256
from evenglide.intake.columns import Columns, sheet_from_columns
from evenglide.intake.conditions import check_directions, check_names_met, check_positive, check_treatments
from evenglide.intake.labels import Labels, blank_label, first_in_order, names_alike
from evenglide.intake.numbers import Numbers
from evenglide.intake.options import JudgeOptions, Role
from evenglide.intake.preparations import each_row_its_own, identify_preparations, labels_reused, middle_ranks
from evenglide.intake.reader import RoleReader
from evenglide.intake.remarks import Remark
from evenglide.intake.scale import decide_scale, stated_scale
from evenglide.intake.sheet import Sheet
from evenglide.readings.launches import Factor, Launches
from evenglide.study.margin import Margin
from evenglide.typing import BoolArray, Scale

RUN_OUT = "run-out"
FACTORS: tuple[Role, ...] = (
    "treatment",
    "surface",
    "block",
    "item",
    "preparation",
    "direction",
    "mark",
    "session",
)
ALWAYS_REQUIRED = ("treatment", "surface")


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """A table taken in.

    Parameters
    ----------
    launches : Launches
    margin : Margin or None
        The difference that matters.
    scale : {"ratio", "difference"}
    remarks : tuple of Remark
    """

    launches: Launches
    margin: Margin | None
    scale: Scale
    remarks: tuple[Remark, ...]


def launches_from_table(sheet: Sheet, options: JudgeOptions, *, compared: bool = True) -> Intake:
    """Take in a table.

    Parameters
    ----------
    sheet : Sheet
    options : JudgeOptions
    compared : bool, optional
        Treatments are to be compared, so two of them must be there; otherwise one will do.

    Returns
    -------
    Intake

    Raises
    ------
    OptionError
        If the options contradict each other.
    TableError
        With every problem of the table.

    Notes
    -----
    A row set aside needs a treatment and a surface only. Where its block, item, preparation or
    session is blank it has the label ``""`` there, and a blank preparation is one of its own; where
    its direction or mark is blank it takes that of the first valid launch on its surface.
    """
    reader = RoleReader(sheet, options.checked())
    columns = _read(reader, len(sheet.row))
    margin = options.margin()
    ratio = stated_scale(options.scale, margin) == "ratio"
    _check(columns, reader, options, ratio=ratio, compared=compared)
    reader.problems.raise_if_any()
    launches, remarks = _stand_up(columns, sheet, options, margin=margin)
    return Intake(
        launches=launches,
        margin=margin,
        scale=decide_scale(options.scale, margin, launches.value[~launches.void]),
        remarks=(*reader.remarks, *remarks),
    )


def launches_from_columns(columns: Columns, options: JudgeOptions) -> tuple[Intake, str]:
    """Take in columns handed over from Python.

    Parameters
    ----------
    columns : mapping of str to sequence
        A mapping, or a data frame: anything with ``keys()`` and ``[]``.
    options : JudgeOptions

    Returns
    -------
    intake : Intake
    sha256 : str
        Fingerprint of the named columns, 64 hexadecimal digits; see `sheet_sha256`.

    Raises
    ------
    OptionError, TableError
        As `launches_from_table`; addresses are ``column[row]``, rows from 0.

    Examples
    --------
    >>> intake, sha256 = launches_from_columns(
    ...     {"glide_m": [2.9, 3.1], "wax": ["bare", "rubbed"]},
    ...     JudgeOptions(response="glide_m", treatment="wax"),
    ... )
    >>> intake.launches.treatment.labels
    ('bare', 'rubbed')
    """
    sheet = sheet_from_columns(columns, options.checked())
    return launches_from_table(sheet, options), sheet_sha256(sheet)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """The named columns as read, sound or not."""

    void: BoolArray
    cause: Labels
    at_least: BoolArray
    required: BoolArray
    reading: Numbers | None
    order: Numbers | None
    named: dict[Role, Factor]

    def factor(self, role: Role) -> Factor:
        """Return a named column, or one label for all launches."""
        label = RUN_OUT if role == "mark" else ""
        one_for_all = Factor(labels=(label,), codes=np.zeros(len(self.void), dtype=np.int64), named=False)
        return self.named.get(role, one_for_all)


def _read(reader: RoleReader, rows: int) -> _Columns:
    """Read every named column; while the column of --void is missing, no blank cell is called wrong."""
    void, cause = reader.flags("void")
    at_least, _ = reader.flags("at_least")
    everywhere = np.ones(rows, dtype=np.bool_)
    required = ~everywhere if reader.lacks("void") else ~void
    return _Columns(
        void=void,
        cause=cause,
        at_least=at_least,
        required=required,
        reading=reader.numbers("response", required=required) if reader.has("response") else None,
        order=reader.numbers("order", required=required) if reader.has("order") else None,
        named={
            role: reader.labels(role, required=everywhere if role in ALWAYS_REQUIRED else required)
            for role in FACTORS
            if reader.has(role)
        },
    )


def _check(
    columns: _Columns, reader: RoleReader, options: JudgeOptions, *, ratio: bool, compared: bool
) -> None:
    """Check what no single cell can show, as far as the columns are there."""
    if columns.reading is not None and ratio:
        check_positive(columns.reading.values, columns.required, reader)
    if reader.has("direction"):
        check_directions(columns.named["direction"], reader.problems)
    if reader.has("treatment"):
        treatment = columns.named["treatment"]
        check_names_met(treatment, options, reader.problems)
        if compared and not (reader.lacks("surface") or reader.lacks("void")):
            surface = columns.factor("surface")
            written = ~(blank_label(treatment) | (blank_label(surface) & surface.named))
            check_treatments(treatment, surface, columns.required, written=written, problems=reader.problems)


def _stand_up(
    columns: _Columns, sheet: Sheet, options: JudgeOptions, *, margin: Margin | None
) -> tuple[Launches, list[Remark]]:
    """Make launches of columns that were found sound."""
    assert columns.reading is not None
    void = columns.void
    surface = columns.factor("surface")
    treatment = columns.factor("treatment")
    reference = treatment.labels[0] if options.reference is None else options.reference.strip()
    treatment = first_in_order(treatment, reference)
    preparation, remarks = _preparations(columns, sheet, options, treatment=treatment)
    launches = Launches(
        response=str(options.column("response")),
        unit=margin.unit if margin else None,
        value=columns.reading.values,
        treatment=treatment,
        surface=surface,
        block=columns.factor("block"),
        item=columns.factor("item"),
        preparation=preparation,
        direction=_fill_from_surface(columns.factor("direction"), surface, void),
        mark=_fill_from_surface(columns.factor("mark"), surface, void),
        session=columns.factor("session"),
        order=None if columns.order is None else middle_ranks(columns.order.values),
        void=void,
        cause=tuple(
            columns.cause.names[code] if out else ""
            for code, out in zip(columns.cause.codes, void, strict=True)
        ),
        at_least=columns.at_least & ~void,
        row=sheet.row,
        shared=options.shared_preparations,
        decimals=columns.reading.decimals,
    )
    for role, factor in columns.named.items():
        remarks += names_alike(factor, str(options.column(role)))
    if both := int(np.count_nonzero(void & columns.at_least)):
        remarks.append(Remark(code="void-and-at-least", facts={"rows": both}))
    return launches, remarks


def _preparations(
    columns: _Columns, sheet: Sheet, options: JudgeOptions, *, treatment: Factor
) -> tuple[Factor, list[Remark]]:
    """Tell preparations apart, and point at labels that stand for several."""
    label = columns.named.get("preparation")
    if label is None:
        return each_row_its_own(sheet.row), []
    cell = (columns.factor("block"), columns.factor("item"), treatment)
    preparation = identify_preparations(
        label, cell, surface=columns.factor("surface"), shared=options.shared_preparations
    )
    return preparation, list(
        labels_reused(label, preparation, cell, column=str(options.column("preparation")))
    )


def _fill_from_surface(factor: Factor, surface: Factor, void: BoolArray) -> Factor:
    """Give launches set aside without a label that of the first valid launch on their surface."""
    blank = blank_label(factor) & factor.named
    if not blank.any():
        return factor
    codes = factor.codes.copy()
    for code in np.unique(surface.codes[blank]):
        here = surface.codes == code
        donors = np.flatnonzero(here & ~void)
        codes[here & blank] = factor.codes[donors[0]] if donors.size else factor.codes[~blank][0]
    met, first, dense = np.unique(codes, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty(len(met), dtype=np.int64)
    rank[order] = np.arange(len(met))
    return Factor(labels=tuple(factor.labels[code] for code in met[order]), codes=rank[dense], named=True)
