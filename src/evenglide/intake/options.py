"""What `judge` is told about a table: which column is what, and how to decide.

Faces hand these over as typed; `JudgeOptions.checked` is the one door where contradictions are
found, all of them at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Literal, Self, get_args

from evenglide.errors import OptionError, Problem
from evenglide.intake.encoding import is_known_encoding
from evenglide.show.typed import quoted
from evenglide.study.margin import Margin, parse_matters
from evenglide.typing import Adjust, Scale

Role = Literal[
    "response",
    "treatment",
    "surface",
    "block",
    "preparation",
    "item",
    "order",
    "direction",
    "mark",
    "session",
    "void",
    "at_least",
]
ROLES: tuple[Role, ...] = get_args(Role)
LARGEST_LEVEL = 0.5

_EXCLUSIVE = ("response", "void", "at_least")
_NOT_TREATMENT = ("surface", "block", "order", "direction", "mark", "session")
"""A treatment may double as item (one item for each) or preparation (one for each), as nothing else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeOptions:
    """Everything that `judge` can be told.

    Parameters
    ----------
    response, treatment : str
        Names of columns.
    surface, block, preparation, item, order, direction, mark, session, void, at_least : str or None
        Names of columns; None where the table has no such column.
    reference : str or None
        Treatment that the others are held against; default: the first one met.
    shared_preparations : bool
        One preparation serves several surfaces.
    stays : tuple or list of str
        Treatments that do not come off.
    matters : str, float or None
        Smallest difference that would matter.
    scale : {"ratio", "difference"} or None
    level : float
        Accepted chance of a false claim, in (0, 0.5).
    adjust : {"holm", "both", "none"}
    sheet : str or None
        Worksheet of a workbook.
    decimal : {",", "."} or None
        Decimal mark of numbers that stand as text.
    encoding : str or None
        Encoding of a text file.
    """

    response: str
    treatment: str
    reference: str | None = None
    surface: str | None = None
    block: str | None = None
    preparation: str | None = None
    shared_preparations: bool = False
    item: str | None = None
    order: str | None = None
    direction: str | None = None
    mark: str | None = None
    session: str | None = None
    stays: tuple[str, ...] = ()
    void: str | None = None
    at_least: str | None = None
    matters: str | float | None = None
    scale: Scale | None = None
    level: float = 0.05
    adjust: Adjust = "holm"
    sheet: str | None = None
    decimal: str | None = None
    encoding: str | None = None

    def __post_init__(self) -> None:
        stays: object = self.stays
        if isinstance(stays, list):  # as callers from Python write it
            object.__setattr__(self, "stays", tuple(stays))

    def column(self, role: Role) -> str | None:
        """Return the trimmed name of the column that plays a role; None where none was named."""
        name: str | None = getattr(self, role)
        return None if name is None else name.strip()

    def margin(self) -> Margin | None:
        """Read the difference that matters; None without one."""
        return None if self.matters is None else parse_matters(self.matters)

    def checked(self) -> Self:
        """Return these options if they agree with each other.

        Raises
        ------
        OptionError
            With every contradiction and every value out of range.
        """
        problems = list(_types(self))
        if not problems:  # the checks below trust the types
            problems = [*_ranges(self), *_matters(self), *_roles(self), *_preparations(self)]
        if problems:
            raise OptionError(problems)
        return self


def flag_of(name: str) -> str:
    """Spell the name of an option as the command line does."""
    return "--" + name.replace("_", "-")


def _problem(code: str, name: str, *, found: str, expected: str, remedy: str) -> Problem:
    return Problem(code=code, where=name, found=found, expected=expected, remedy=remedy)


def _types(options: JudgeOptions) -> Iterator[Problem]:
    """Callers from Python may hand over anything."""
    special = {"matters", "level", "stays", "shared_preparations"}
    for name in (field.name for field in fields(options) if field.name not in special):
        value: object = getattr(options, name)
        required = name in ("response", "treatment", "adjust")
        if not isinstance(value, str) and (required or value is not None):
            yield _bad_type(name, value, "text")
    stays: object = options.stays
    if not isinstance(stays, tuple) or not all(isinstance(name, str) for name in stays):
        yield _bad_type("stays", stays, "a list of names")
    shared: object = options.shared_preparations
    if not isinstance(shared, bool):
        yield _bad_type("shared_preparations", shared, "true or false")
    level: object = options.level
    if isinstance(level, bool) or not isinstance(level, float | int):
        yield _bad_type("level", level, "a number")
    matters: object = options.matters
    if isinstance(matters, bool) or not isinstance(matters, str | float | int | None):
        yield _bad_type("matters", matters, "text or a number")


def _bad_type(name: str, value: object, expected: str) -> Problem:
    return _problem(
        "bad-type",
        flag_of(name),
        found=f"{quoted(str(value))} ({type(value).__name__})",
        expected=expected,
        remedy="Hand over a value of that kind.",
    )


def _ranges(options: JudgeOptions) -> Iterator[Problem]:
    """Check each option that has a range or a list of choices."""
    if not (math.isfinite(options.level) and 0 < options.level < LARGEST_LEVEL):
        yield _problem(
            "bad-level",
            "--level",
            found=str(options.level),
            expected="a number above 0 and below 0.5",
            remedy="Say the chance of a false claim that you accept, such as --level 0.05.",
        )
    choices: tuple[tuple[str, str | None, tuple[str, ...]], ...] = (
        ("adjust", options.adjust, get_args(Adjust)),
        ("scale", options.scale, get_args(Scale)),
        ("decimal", options.decimal, (",", ".")),
    )
    for name, value, allowed in choices:
        if value is not None and value not in allowed:
            yield _problem(
                f"bad-{name}",
                flag_of(name),
                found=quoted(value),
                expected=" or ".join(quoted(choice) for choice in allowed),
                remedy=f"Say one of these, or leave {flag_of(name)} out.",
            )
    if options.encoding is not None and not is_known_encoding(options.encoding):
        yield _problem(
            "bad-encoding",
            "--encoding",
            found=quoted(options.encoding),
            expected="the name of a text encoding, such as utf-8, utf-16 or cp1252",
            remedy="Correct the name, or leave --encoding out for UTF-8.",
        )


def _matters(options: JudgeOptions) -> Iterator[Problem]:
    """Check the margin, and that margin and scale speak of the same thing."""
    try:
        margin = options.margin()
    except OptionError as error:
        yield from error.problems
        return
    if margin is None or options.scale in (None, margin.scale):
        return
    percent = margin.text if margin.scale == "ratio" else "5 %"
    amount = margin.text if margin.scale == "difference" else "0.3 m"
    yield _problem(
        "margin-against-scale",
        "--matters, --scale",
        found=f"--matters {quoted(margin.text)} with --scale {options.scale}",
        expected="a percentage on the ratio scale, or a number on the difference scale",
        remedy=f'Say either --matters "{percent}" with --scale ratio, or --matters "{amount}" with --scale '
        "difference (a number in the response's unit). The scale may be left out: the margin settles it.",
    )


def _roles(options: JudgeOptions) -> Iterator[Problem]:
    """Check that no column is named for two things that it cannot be at once."""
    named = [(role, column) for role in ROLES if (column := options.column(role)) is not None]
    for role, column in named:
        if not column:
            yield _problem(
                "no-name",
                flag_of(role),
                found="an empty name",
                expected="the name of a column",
                remedy="Name a column of the table, or leave the option out.",
            )
    for index, (first, column) in enumerate(named):
        for second, other in named[index + 1 :]:
            if column and column == other and _cannot_share(first, second):
                yield _problem(
                    "column-in-two-roles",
                    f"{flag_of(first)}, {flag_of(second)}",
                    found=f"the column {quoted(column)} for both",
                    expected="two different columns",
                    remedy="Name another column for one of them, or leave one out.",
                )


def _cannot_share(first: Role, second: Role) -> bool:
    """Whether one column cannot be both."""
    pair = {first, second}
    return bool(pair & set(_EXCLUSIVE)) or ("treatment" in pair and bool(pair & set(_NOT_TREATMENT)))


def _preparations(options: JudgeOptions) -> Iterator[Problem]:
    """Check the options that mean nothing while every row is its own preparation."""
    if options.preparation is not None:
        return
    asked = {"direction": options.direction is not None, "shared_preparations": options.shared_preparations}
    for name in (name for name, given in asked.items() if given):
        yield _problem(
            "needs-preparation",
            flag_of(name),
            found=f"{flag_of(name)} without --preparation",
            expected="the column that says which launches were made on one preparation",
            remedy=f"Name it with --preparation, or leave {flag_of(name)} out.",
        )
