"""From a document without problems to the records of a study."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, TypeVar

from evenglide.study.document_checks import factor, settled_layout, settled_scale, settled_unit
from evenglide.study.document_models import StudyDocument, SurfaceTable, Table
from evenglide.study.margin import Margin
from evenglide.study.study import (
    Costs,
    Design,
    Item,
    Outing,
    Rig,
    Scatter,
    Study,
    Surface,
    Treatment,
)

Record = TypeVar("Record")
NOT_STATED = "unknown"
STATED = "stated"


def study_from(document: StudyDocument) -> Study:
    """Make the records; what a person left out takes the default of its record."""
    question = document.study
    assert question is not None
    unit = settled_unit(document)
    treatments = [
        _record(Treatment, one, {"hands_on": "hands_on_s", "waiting": "waiting_s"})
        for one in document.treatment or []
    ]
    stated = _stated(question, {"gear": "item_word"}, leave=("matters", "unit", "scale"))
    return Study(
        **stated,
        unit=unit,
        scale=settled_scale(document),
        margin=_ends(question.matters, unit),
        treatments=tuple(sorted(treatments, key=lambda treatment: not treatment.reference)),
        items=tuple(_record(Item, one, {"mass": "mass_kg"}) for one in document.item or []),
        surfaces=tuple(_surface(one, unit) for one in document.surface or []),
        design=_design(document),
        costs=_costs(document),
        scatter=_scatter(document, unit),
        rig=_record(Rig, document.rig) if document.rig else Rig(),
        looks=_looks(document),
        looks_at=tuple((document.looks and document.looks.at) or ()),
        void_reasons=tuple((document.voids and document.voids.reasons) or ()),
        expected_voids=document.voids.expected if document.voids else None,
        hidden_from=tuple((document.blinding and document.blinding.hidden_from) or ()),
        own=document.x or {},
    )


def _record(kind: type[Record], table: Table, renamed: dict[str, str] | None = None) -> Record:
    return kind(**_stated(table, renamed or {}))


def _stated(table: Table, renamed: dict[str, str], *, leave: tuple[str, ...] = ()) -> dict[str, Any]:
    """Values that were stated, under the names of the record."""
    found: dict[str, Any] = {}
    for name in type(table).model_fields:
        value = getattr(table, name)
        if value is not None and name not in leave:
            found[renamed.get(name, name)] = tuple(value) if isinstance(value, list) else value
    return found


def _surface(table: SurfaceTable, unit: str | None) -> Surface:
    stated = _stated(table, {"after": "after_s"}, leave=("matters",))
    return Surface(**stated, margin=_ends(table.matters, unit))


def _design(document: StudyDocument) -> Design:
    stated = _stated(document.design, {}) if document.design else {}
    return Design(**{**stated, "layout": settled_layout(document)})


def _costs(document: StudyDocument) -> Costs:
    if document.costs is None:
        return Costs()
    outings = [
        Outing(
            day=one.day or "", start=one.start or "", end=one.end or "", surfaces=tuple(one.surfaces or ())
        )
        for one in document.costs.outings or []
    ]
    return Costs(
        rig_set_up_s=document.costs.rig_set_up,
        reserve=document.costs.reserve,
        outings=tuple(outings),
        measured=document.costs.measured or "",
    )


def _scatter(document: StudyDocument, unit: str | None) -> Scatter:
    table = document.scatter
    if table is None:
        return Scatter()
    preparations, launches = _amount(table.preparations, unit), _amount(table.launches, unit)
    known = preparations is not None or launches is not None
    return Scatter(
        preparations=preparations,
        launches=launches,
        as_if_from=table.as_if_from,
        source=table.source or (STATED if known else NOT_STATED),
        columns=_stated(table.columns, {}) if table.columns else {},
    )


def _looks(document: StudyDocument) -> int:
    """Count the planned analyses, the one at the end among them."""
    looks = document.looks
    return 1 if looks is None else len(looks.at or ()) or looks.number or 1


def _ends(margin: Margin | None, unit: str | None) -> tuple[float, float] | None:
    """Low and high end of a margin, on the analysis scale and in the unit of the response."""
    if margin is None:
        return None
    if margin.scale == "ratio":
        return margin.low, margin.high
    high = _converted(margin, unit)
    return -high, high


def _amount(amount: Margin | None, unit: str | None) -> float | None:
    """Scatter: a share where it was stated in percent, else in the unit of the response."""
    if amount is None:
        return None
    if amount.scale == "ratio":
        return float(Decimal(repr(amount.amount)) / 100)
    return _converted(amount, unit)


def _converted(amount: Margin, unit: str | None) -> float:
    by = factor(amount.unit, unit)
    assert by is not None
    return amount.amount if by == 1 else float(Decimal(repr(amount.amount)) * by)
