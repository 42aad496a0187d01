"""Quantities as typed, in SI. Factors: NIST Special Publication 811 (2008), appendix B.8, exact values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.units.quantities import (
    NotAQuantityError,
    length_factor,
    plain_number,
    read_quantity,
    write_quantity,
)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("7 s", "time", 7.0),
        ("1.5min", "time", 90.0),
        ("2 Hours", "time", 7200.0),
        ("1,9 kg", "mass", 1.9),
        ("850 g", "mass", 0.85),
        ("1 lb", "mass", 0.45359237),
        ("16 oz", "mass", 0.45359237),
        ("1 ft", "length", 0.3048),
        ("12 in", "length", 0.3048),
        ("30 cm", "length", 0.3),
        ("0.1 mm", "length", 0.0001),
        (".5 m", "length", 0.5),
        ("2 kilometres", "length", 2000.0),
        ("7\u00a0s", "time", 7.0),
    ],
)
def test_read(text: str, kind: str, value: float) -> None:
    assert read_quantity(text, kind) == value  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("7", "time"), ("s", "time"), ("", "time"), ("7 kg", "time"), ("7 S", "time"), ("-7 s", "time"),
        ("1e3 s", "time"), ("1,200 g", "mass"), ("7 M", "length"), ("1.2.3 m", "length"),
        ("3 m 2 cm", "length"), ("3 m/s", "length"), ("nan s", "time"),
    ],
)  # fmt: skip
def test_refused(text: str, kind: str) -> None:
    with pytest.raises(NotAQuantityError) as caught:
        read_quantity(text, kind)  # type: ignore[arg-type]
    assert caught.value.expected


@given(st.decimals("0.001", 100_000, places=3).map(float))
def test_written_and_read_is_the_same(value: float) -> None:
    assert read_quantity(write_quantity(value, "kg"), "mass") == value


@given(st.floats(0, 1e9))
def test_plain_numbers_are_the_same_number_without_exponent(value: float) -> None:
    shown = plain_number(value)
    assert float(shown) == value
    assert "e" not in shown.casefold()


def test_only_lengths_have_a_length_factor() -> None:
    assert [length_factor(unit) for unit in ("kg", None, "", "furlong")] == [None] * 4
    assert float(length_factor(" Feet ") or 0) == 0.3048
