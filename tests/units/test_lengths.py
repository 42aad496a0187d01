"""Which units make a page say farther."""

from __future__ import annotations

import pytest

from evenglide.units.lengths import is_length


@pytest.mark.parametrize(
    "unit", ["m", "cm", "mm", "km", "ft", "in", "'", '"', "Feet", " metres ", "METER", "Inches"]
)
def test_lengths(unit: str) -> None:
    assert is_length(unit)


@pytest.mark.parametrize("unit", [None, "", "s", "m/s", "M", "kg", "%", "m2", "min", "MM"])
def test_no_lengths(unit: str | None) -> None:
    assert not is_length(unit)
