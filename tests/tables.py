"""Small tables in memory, for tests that judge them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from evenglide.analysis.case import SurfaceCase, surface_case
from evenglide.intake.launches import Intake, launches_from_columns
from evenglide.intake.options import JudgeOptions
from evenglide.typing import Scale

Columns = dict[str, list[Any]]
ROLES = (
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
)


def take_in(columns: Mapping[str, Sequence[Any]], **options: Any) -> Intake:
    """Take in columns whose names are the roles they play."""
    roles = {role: role for role in ROLES if role in columns}
    intake, _ = launches_from_columns(
        columns, JudgeOptions(response="response", treatment="treatment", **{**roles, **options})
    )
    return intake


def case_of(
    columns: Mapping[str, Sequence[Any]], *, scale: Scale = "difference", **options: Any
) -> SurfaceCase:
    """First surface of a table, ready for its tests."""
    return surface_case(take_in(columns, scale=scale, **options).launches, 0, scale=scale)


def rows(names: str, lines: Iterable[Sequence[Any]]) -> Columns:
    """Columns from rows."""
    turned = list(zip(*lines, strict=True))
    return {name: list(column) for name, column in zip(names.split(), turned, strict=True)}


def without_column(columns: Columns, name: str) -> Columns:
    """All columns but one."""
    return {other: column for other, column in columns.items() if other != name}


def paired(
    blocks: int,
    launches: int,
    *,
    seed: int = 1,
    effect: float = 0.0,
    prep: float = 0.03,
    launch: float = 0.06,
) -> Columns:
    """Ratio-scale pairs: one preparation of each treatment per block, items swapping, launched in turn."""
    rng = np.random.default_rng(seed)
    lines = []
    for block in range(blocks):
        swap = rng.random() < 0.5
        coats = rng.normal(0, prep, 2)
        for number in range(launches * 2):
            item = (number + 1) // 2 % 2
            treated = item != swap
            y = np.log(6.0) + coats[item] + effect * treated + rng.normal(0, launch)
            name = "wax" if treated else "bare"
            lines.append((float(np.exp(y)), name, f"b{block}", f"item {item}", f"p{block}{item}", len(lines)))
    return rows("response treatment block item preparation order", lines)
