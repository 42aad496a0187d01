"""Writing study.toml for people: every key that says something, with a comment where it helps.

What is written reads back as the same study.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table

from evenglide.study.document_models import LARGEST_PART, STUDY_FORMAT
from evenglide.study.study import Costs, Design, Scatter, Study, Surface, Treatment
from evenglide.units.quantities import plain_number, write_quantity

HEAD = (
    "A study: one question being settled. This file is yours to edit until the plan is sealed.",
    'Quantities are texts with a unit: "18 min", "1.9 kg", "0.25 m". A key that is not known is left out.',
)
_NOTES: Mapping[str, str] = {
    "matters": "the smallest difference that would matter to a rider",
    "level": "the chance of a false claim that you accept",
    "main": "the surface that the argument is about",
    "gear": "what one piece of gear is called",
    "paid_by": "who pays for it; readers will ask",
    "after": "time after release at which the mark is taken",
    "not_after": "surfaces that may not come before it on one coat",
    "reference": "the others are held against this one",
    "layout": 'or "in sequence": one item, one coat after the other',
    "reasons": "a launch is set aside only for one of these, judged without knowing the distance",
    "hidden_from": "who does not know which treatment is which",
    "base_touches_while_pushing": "if true, the speed at release is a result of the treatment",
    "residual": '"own pair": each comparison is judged by the scatter of its own two treatments',
    "reserve": "share of an outing that is kept free, for breaks and what goes wrong",
    "expected": "share of launches that you expect to set aside",
    "as_if_from": "how many degrees of freedom this guess is worth",
}


def write_study(study: Study) -> str:
    """Write a study as a commented document.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
        Text of study.toml.

    Raises
    ------
    ValueError
        If a margin is no multiple of anything a person could have typed.
    """
    document = tomlkit.document()
    for line in HEAD:
        document.add(tomlkit.comment(line))
    document["format"] = STUDY_FORMAT
    _add(document, "study", _question(study))
    _add_each(document, "treatment", [_treatment(one) for one in study.treatments])
    items = [{"name": one.name, "mass": _in(one.mass_kg, "kg", or_else="unknown")} for one in study.items]
    _add_each(document, "item", items)
    _add_each(document, "surface", [_surface(one, study) for one in study.surfaces])
    _add(document, "design", _design(study.design))
    _add(document, "costs", _costs(study.costs))
    _add(document, "scatter", _scatter(study.scatter, study))
    _add(document, "looks", _looks(study))
    _add(
        document,
        "rig",
        {"kind": study.rig.kind, "base_touches_while_pushing": study.rig.base_touches_while_pushing},
    )
    expected = None if study.expected_voids is None else _share(study.expected_voids)
    _add(document, "voids", {"reasons": list(study.void_reasons), "expected": expected})
    _add(document, "blinding", {"hidden_from": list(study.hidden_from)})
    if study.own:
        document["x"] = dict(study.own)
    return tomlkit.dumps(document)


def _question(study: Study) -> dict[str, Any]:
    return {
        "title": study.title,
        "response": study.response,
        "unit": study.unit,
        "better": study.better,
        "scale": study.scale,
        "matters": _margin(study.margin, study),
        "level": study.level,
        "adjust": study.adjust,
        "main": study.main,
        "gear": study.item_word,
        "paid_by": study.paid_by or None,
    }


def _looks(study: Study) -> dict[str, Any]:
    if not study.looks_at:
        return {"number": study.looks}
    parts = [Fraction(one).limit_denominator(LARGEST_PART) for one in study.looks_at]
    return {
        "at": [
            str(part) if float(part) == one else one for part, one in zip(parts, study.looks_at, strict=True)
        ]
    }


def _treatment(treatment: Treatment) -> dict[str, Any]:
    return {
        "name": treatment.name,
        "reference": treatment.reference or None,
        "hands_on": _time(treatment.hands_on_s),
        "waiting": _time(treatment.waiting_s),
        "removable": treatment.removable,
        "note": treatment.note or None,
    }


def _surface(surface: Surface, study: Study) -> dict[str, Any]:
    return {
        "name": surface.name,
        "mark": surface.mark,
        "after": _time(surface.after_s),
        "minutes_per_launch": _whole(surface.minutes_per_launch),
        "not_after": list(surface.not_after),
        "matters": _margin(surface.margin, study),
    }


def _design(design: Design) -> dict[str, Any]:
    return {
        "preparations": design.preparations,
        "blocks": design.blocks,
        "layout": design.layout,
        "directions": list(design.directions),
        "order": design.order,
        "practice_launches": design.practice_launches,
        "wear_check": design.wear_check,
        "return_to_bare": design.return_to_bare,
        "residual": None if design.residual == "pooled" else design.residual,
    }


def _costs(costs: Costs) -> dict[str, Any]:
    outings = [
        {"day": one.day, "from": one.start, "to": one.end, "surfaces": list(one.surfaces)}
        for one in costs.outings
    ]
    reserve = None if costs.reserve is None else _share(costs.reserve)
    return {
        "rig_set_up": _time(costs.rig_set_up_s),
        "reserve": reserve,
        "measured": costs.measured or None,
        "outings": outings or None,
    }


def _scatter(scatter: Scatter, study: Study) -> dict[str, Any]:
    return {
        "preparations": _amount(scatter.preparations, study),
        "launches": _amount(scatter.launches, study),
        "as_if_from": scatter.as_if_from,
        "from": scatter.source,
        "columns": dict(scatter.columns) or None,
    }


# ------------------------------------------------------------------------------------- quantities


def _time(seconds: float | None) -> str | None:
    if seconds is None:
        return None
    minutes = seconds / 60
    whole = minutes * 60 == seconds and minutes >= 1 and minutes == int(minutes)
    return write_quantity(minutes, "min") if whole else write_quantity(seconds, "s")


def _whole(value: float | None) -> float | int | None:
    return int(value) if value is not None and value == int(value) else value


def _in(value: float | None, unit: str, *, or_else: str) -> str:
    return or_else if value is None else write_quantity(value, unit)


def _margin(ends: tuple[float, float] | None, study: Study) -> str | float | None:
    if ends is None:
        return None
    if study.scale == "difference":
        return _with_unit(ends[1], study)
    return f"{_percent(ends[1])} %"


def _percent(high: float) -> str:
    """Shortest number of percent whose logarithm of the ratio is `high`."""
    near = math.expm1(high) * 100.0
    for digits in range(1, 18):
        shown = plain_number(float(f"{near:.{digits}g}"))
        if math.log1p(float(shown) / 100.0) == high:
            return shown
    raise ValueError(f"no percentage has the margin {high!r}")


def _amount(value: float | None, study: Study) -> str | float | None:
    if value is None:
        return None
    if study.scale == "difference":
        return _with_unit(value, study)
    return _share(value)


def _share(value: float) -> str:
    return f"{plain_number(float(f'{value * 100:.15g}'))} %"


def _with_unit(value: float, study: Study) -> str | float:
    return value if study.unit is None else write_quantity(value, study.unit)


# ------------------------------------------------------------------------------------------ tables


def _add(document: tomlkit.TOMLDocument, name: str, values: Mapping[str, Any]) -> None:
    table = _table(values)
    if table.value:
        document.add(name, table)


def _add_each(document: tomlkit.TOMLDocument, name: str, entries: Sequence[Mapping[str, Any]]) -> None:
    tables: AoT = tomlkit.aot()
    for at, values in enumerate(entries):
        tables.append(_table(values, told=at == 0))
    document.add(name, tables)


def _table(values: Mapping[str, Any], *, told: bool = True) -> Table:
    """Make a table of what is known; only the first of several alike is commented."""
    table = tomlkit.table()
    for key, value in values.items():
        if value is None:
            continue
        item = tomlkit.item(value)
        if isinstance(value, dict):
            item = tomlkit.inline_table()
            item.update(value)
        if isinstance(value, list) and value and isinstance(value[0], dict):
            rows = [tomlkit.inline_table() for _ in value]
            for row, entry in zip(rows, value, strict=True):
                row.update(entry)
            item = tomlkit.array()
            item.extend(rows)
            item.multiline(True)
        if told and key in _NOTES:
            item.comment(_NOTES[key])
        table.add(key, item)
    return table
