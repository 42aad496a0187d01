"""The shape of study.toml, key by key; private to the reader and to the published JSON Schema.

Every key may be missing here: what must be there stands in ``required`` of its table, so that a document
with one bad value can still be looked through for everything else.
"""

from __future__ import annotations

import datetime
import math
import re
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from evenglide.errors import OptionError
from evenglide.study.margin import Margin, parse_matters
from evenglide.study.study import BlockKind, Layout, MarkKind, OrderRule, Sharing
from evenglide.typing import Adjust, Scale
from evenglide.units.quantities import Kind, NotAQuantityError, read_quantity

STUDY_FORMAT = "evenglide.study/1"
UNKNOWN = "unknown"
LARGEST_COUNT = 1000
LARGEST_SHARE = 0.9
MOST_LOOKS = 20
LARGEST_PART = 999

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_SHARE = re.compile(r"(?P<number>[0-9]{1,2}(?:[.,][0-9]+)?)\s*%")
_PART = re.compile(r"(?P<number>[0-9]{1,3}(?:[.,][0-9]+)?)\s*(?:/\s*(?P<by>[0-9]{1,3})|(?P<percent>%))?")
_HOUR = re.compile(r"([01]?[0-9]|2[0-3]):[0-5][0-9]")


def _refused(code: str, expected: str, remedy: str) -> PydanticCustomError:
    """Make an error that tells what was expected; pydantic adds where and what was found."""
    return PydanticCustomError(
        "study", "{expected}", {"code": code, "expected": expected, "remedy": remedy}
    )  # fmt: skip


def _name(value: object) -> object:
    """Names are trimmed; blank ones and ones over several lines cannot be told apart in a list."""
    if not isinstance(value, str):
        return value
    if not value.strip() or not value.isprintable():
        raise _refused("bad-name", "a name on one line, with at least one letter", "Give it a name.")
    return " ".join(value.split())


def _quantity(kind: Kind, *, unknown: bool = False, positive: bool = False) -> BeforeValidator:
    def read(value: object) -> object:
        if value is None or (unknown and value == UNKNOWN):
            return None
        if not isinstance(value, str):
            raise _refused("bad-quantity", "a text with a unit", "Put it in quotes, with its unit.")
        try:
            found = read_quantity(value, kind)
        except NotAQuantityError as error:
            remedy = f'Write it so, or "{UNKNOWN}".' if unknown else "Write it so, or leave the key out."
            raise _refused("bad-quantity", error.expected, remedy) from error
        if positive and found <= 0:
            raise _refused("bad-quantity", "more than nought", "Correct it, or leave the key out.")
        return found

    return BeforeValidator(read)


def _amount(value: object) -> object:
    """Read a margin or a scatter: a percentage, or a number with the response's unit."""
    if value is None or isinstance(value, Margin):
        return value
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise _refused("bad-margin", 'a text such as "10 %" or "0.25 m"', "Put it in quotes, with its unit.")
    try:
        return parse_matters(value)
    except OptionError as error:
        told = error.problems[0]
        remedy = 'Write a percentage such as "10 %", or a number with its unit such as "0.25 m".'
        raise _refused("bad-margin", told.expected, remedy) from error


def _day(value: object) -> object:
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value.isoformat()
    try:
        if isinstance(value, str) and _DAY.fullmatch(value):
            return datetime.date.fromisoformat(value).isoformat()
    except ValueError:
        pass
    raise _refused("bad-day", 'a day of the calendar, such as "2026-01-17"', "Write year-month-day.")


def _hour(value: object) -> object:
    if isinstance(value, datetime.time):
        return value.strftime("%H:%M")
    if isinstance(value, str) and _HOUR.fullmatch(value):
        return value.zfill(5)
    raise _refused("bad-hour", 'a time of the day, such as "08:30"', "Write hours:minutes, 00:00 to 23:59.")


def _level(value: object) -> object:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 0.5:
        raise _refused(
            "bad-level", "a number above 0 and below 0.5", "0.05 is common; leave it out for that."
        )
    return float(value)


def _share(value: object) -> object:
    """Read a share: a percentage, nought included."""
    if value is None:
        return None
    match = _SHARE.fullmatch(value.strip()) if isinstance(value, str) else None
    share = float(Decimal(match["number"].replace(",", ".")) / 100) if match else math.inf
    if share > LARGEST_SHARE:
        raise _refused(
            "bad-share", 'a percentage from 0 to 90 such as "5 %"', "Write it so, or leave the key out."
        )
    return share


def _part(value: object) -> object:
    """Read a part of a whole: a fraction, a percentage, or a number up to 1."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        found = Fraction(value) if math.isfinite(value) else Fraction(0)
    else:
        match = _PART.fullmatch(value.strip()) if isinstance(value, str) else None
        by = int((match and match["by"]) or 1)
        found = Fraction(match["number"].replace(",", ".")) / by if match and by else Fraction(0)
        found /= 100 if match and match["percent"] else 1
    if not 0 < found <= 1:
        raise _refused("bad-share", 'a part of the whole such as "1/2" or "50 %", at most 1', "Write it so.")
    return float(found)


_TEXT = {"type": "string", "minLength": 1}
Name = Annotated[str, BeforeValidator(_name), WithJsonSchema(_TEXT)]
Duration = Annotated[
    float | None, _quantity("time"), WithJsonSchema({**_TEXT, "examples": ["18 min", "90 s"]})
]
MarkTime = Annotated[
    float | None, _quantity("time", positive=True), WithJsonSchema({**_TEXT, "examples": ["7 s"]})
]
Mass = Annotated[
    float | None,
    _quantity("mass", unknown=True, positive=True),
    WithJsonSchema({**_TEXT, "examples": ["1.9 kg", "4 lb", UNKNOWN]}),
]
_AMOUNTS = {"type": ["string", "number"], "examples": ["10 %", "0.25 m"]}
Amount = Annotated[Margin | None, BeforeValidator(_amount), WithJsonSchema(_AMOUNTS)]
Share = Annotated[float | None, BeforeValidator(_share), WithJsonSchema({**_TEXT, "examples": ["5 %"]})]
Part = Annotated[
    float,
    BeforeValidator(_part),
    WithJsonSchema({"type": ["string", "number"], "examples": ["1/2", "50 %", 1]}),
]
Day = Annotated[str, BeforeValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
Hour = Annotated[str, BeforeValidator(_hour), WithJsonSchema({"type": "string", "pattern": _HOUR.pattern})]
Level = Annotated[
    float,
    BeforeValidator(_level),
    WithJsonSchema({"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 0.5}),
]
Count = Annotated[int, Field(ge=0, le=LARGEST_COUNT)]
Minutes = Annotated[float, Field(gt=0, le=600)]


class Table(BaseModel):
    """A table of the document; `required` names the keys that must be there."""

    model_config = ConfigDict(
        extra="forbid", strict=True, populate_by_name=False, arbitrary_types_allowed=True
    )
    required: ClassVar[tuple[str, ...]] = ()


class QuestionTable(Table):
    """What is asked, how a difference is told, and how sure the answer must be."""

    required = ("title",)
    title: Name | None = None
    response: Name | None = None
    unit: Name | None = None
    better: Literal["higher", "lower"] | None = None
    scale: Scale | None = None
    matters: Amount = None
    level: Level | None = None
    adjust: Adjust | None = None
    main: Name | None = None
    gear: Name | None = Field(default=None, description="What one piece of gear is called: board, sled, ...")
    paid_by: str | None = None


class TreatmentTable(Table):
    """One of the things compared."""

    required = ("name",)
    name: Name | None = None
    reference: bool | None = None
    hands_on: Duration = None
    waiting: Duration = None
    removable: bool | None = None
    note: str | None = None


class ItemTable(Table):
    """One physical piece of gear."""

    required = ("name",)
    name: Name | None = None
    mass: Mass = None


class SurfaceTable(Table):
    """A condition that the gear meets."""

    required = ("name",)
    name: Name | None = None
    mark: MarkKind | None = None
    after: MarkTime = None
    minutes_per_launch: Minutes | None = None
    not_after: list[Name] | None = None
    matters: Amount = None


class DesignTable(Table):
    """How preparations, rounds and launches are laid out."""

    preparations: Sharing | None = None
    blocks: BlockKind | None = None
    layout: Layout | None = None
    directions: Annotated[list[Name], Field(min_length=1, max_length=2)] | None = None
    order: OrderRule | None = None
    practice_launches: Count | None = None
    wear_check: Count | None = None
    return_to_bare: Count | None = None
    residual: Literal["pooled", "own pair"] | None = None


class OutingTable(Table):
    """A day or half-day outside."""

    required = ("day", "from", "to")
    day: Day | None = None
    start: Hour | None = Field(default=None, alias="from")
    end: Hour | None = Field(default=None, alias="to")
    surfaces: list[Name] | None = None


class CostsTable(Table):
    """What it takes to be outside."""

    rig_set_up: Duration = None
    reserve: Share = None
    measured: Name | None = None
    outings: list[OutingTable] | None = None


class PilotColumnsTable(Table):
    """What columns of the table that the scatter is read from are called."""

    response: Name | None = None
    treatment: Name | None = None
    surface: Name | None = None
    round: Name | None = None
    preparation: Name | None = None
    item: Name | None = None
    direction: Name | None = None
    set_aside: Name | None = None
    at_least: Name | None = None


class ScatterTable(Table):
    """How much preparations and launches are expected to scatter."""

    preparations: Amount = None
    launches: Amount = None
    as_if_from: Annotated[int, Field(ge=1)] | None = None
    source: Name | None = Field(default=None, alias="from")
    columns: PilotColumnsTable | None = None


class LooksTable(Table):
    """Planned analyses."""

    number: Annotated[int, Field(ge=1, le=MOST_LOOKS)] | None = None
    at: Annotated[list[Part], Field(min_length=1, max_length=MOST_LOOKS)] | None = Field(
        default=None, description="Share of the preparations after which each is made, rising to 1."
    )


class RigTable(Table):
    """The launcher."""

    kind: Literal["springs", "ramp", "bungee", "tow", "hand"] | None = None
    base_touches_while_pushing: bool | None = None


class VoidsTable(Table):
    """Causes for which a launch may be set aside, stated beforehand."""

    reasons: list[Name] | None = None
    expected: Share = None


class BlindingTable(Table):
    """Who does not know which treatment is which."""

    hidden_from: list[Name] | None = None


class StudyDocument(Table):
    """The whole of study.toml."""

    required = ("format", "study", "treatment", "item", "surface")
    format: Literal["evenglide.study/1"] | None = None
    study: QuestionTable | None = None
    treatment: list[TreatmentTable] | None = None
    item: list[ItemTable] | None = None
    surface: list[SurfaceTable] | None = None
    design: DesignTable | None = None
    costs: CostsTable | None = None
    scatter: ScatterTable | None = None
    looks: LooksTable | None = None
    rig: RigTable | None = None
    voids: VoidsTable | None = None
    blinding: BlindingTable | None = None
    x: dict[str, Any] | None = Field(default=None, description="Yours: kept, sealed, never read.")


TABLES: dict[tuple[str, ...], type[Table]] = {
    (): StudyDocument,
    ("study",): QuestionTable,
    ("treatment",): TreatmentTable,
    ("item",): ItemTable,
    ("surface",): SurfaceTable,
    ("design",): DesignTable,
    ("costs",): CostsTable,
    ("costs", "outings"): OutingTable,
    ("scatter",): ScatterTable,
    ("scatter", "columns"): PilotColumnsTable,
    ("looks",): LooksTable,
    ("rig",): RigTable,
    ("voids",): VoidsTable,
    ("blinding",): BlindingTable,
}
"""Tables of the document by the keys that lead to them."""


def keys_of(table: type[Table]) -> list[str]:
    """List the keys that a table may have, as written in the document."""
    return [field.alias or name for name, field in table.model_fields.items()]
