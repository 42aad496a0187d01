"""The difference that matters, in every spelling that is taken and every one that is not."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import OptionError
from evenglide.study.margin import Margin, parse_matters


@pytest.mark.parametrize(
    "text",
    [
        "5 %",
        "5%",
        " 5 % ",
        "5\u00a0%",
        "5\u2009%",
        "5\u202f%",
        "5.0 %",
        "5,0 %",
        "+5 %",
        "5 percent",
        "5e0 %",
    ],
)
def test_percent(text: str) -> None:
    margin = parse_matters(text)
    # -ln(1.05), ln(1.05): log1p of a twentieth
    assert (margin.scale, margin.low, margin.high) == ("ratio", -math.log1p(0.05), math.log1p(0.05))
    assert (margin.amount, margin.unit, margin.text) == (5.0, None, text.strip())


def test_percent_with_decimal_comma_and_at_its_largest() -> None:
    assert parse_matters("2,5 %").amount == 2.5
    assert parse_matters("2,500 %").amount == 2.5  # 2500 % would be out of range: one reading only
    assert parse_matters("100 %").high == pytest.approx(math.log(2), rel=1e-15)


@pytest.mark.parametrize(
    ("matters", "amount", "unit"),
    [
        ("0.3 m", 0.3, "m"),
        ("0,3 m", 0.3, "m"),
        ("0.3m", 0.3, "m"),
        ("0.3\u00a0m", 0.3, "m"),
        (".3 m", 0.3, "m"),
        ("0.3", 0.3, None),
        (0.3, 0.3, None),
        (2, 2.0, None),
        ("0,250 m", 0.25, "m"),
        ("5 m/s^2", 5.0, "m/s^2"),
        ("12 '", 12.0, "'"),
        ("3 °C", 3.0, "°C"),
        ("1e-2 km", 0.01, "km"),
    ],
)
def test_difference(matters: str | float, amount: float, unit: str | None) -> None:
    assert parse_matters(matters) == Margin(
        scale="difference", low=-amount, high=amount, amount=amount, unit=unit, text=str(matters)
    )


@pytest.mark.parametrize(
    "matters",
    [
        *("", "%", "m", "five %", "0 %", "-5 %", "100.1 %", "1e400 %", "1e-323 %"),
        *("0", "-0.3 m", "nan", "inf m", "1e400 m", math.nan, math.inf, -1.0, 0),
        *(
            "1,234 m",
            "1,234",
            "1.234,5 m",
            "1 000 m",
            "1_000",
            "0x1F",
            "５ %",
            "5 %%",
            "5 % m",
            "0.3 m 5",
            "3' 6\"",
        ),
    ],
)
def test_refused(matters: str | float) -> None:
    with pytest.raises(OptionError) as caught:
        parse_matters(matters)
    (problem,) = caught.value.problems
    assert (problem.code, problem.where) == ("bad-margin", "--matters")
    assert str(matters).strip()[:20] in problem.found


@given(st.floats(min_value=1e-3, max_value=100.0), st.sampled_from(["", " ", "\u00a0"]), st.booleans())
def test_percent_round_trip(percent: float, space: str, comma: bool) -> None:
    text = f"{percent!r}{space}%"
    margin = parse_matters(text.replace(".", ",") if comma else text)
    assert margin.amount == percent
    assert margin.low == -margin.high
    assert 100 * math.expm1(margin.high) == pytest.approx(percent, rel=1e-12)


@given(st.floats(min_value=1e-300, max_value=1e300), st.sampled_from(["m", "cm", "s", "m/s"]))
def test_difference_round_trip(amount: float, unit: str) -> None:
    margin = parse_matters(f"{amount!r} {unit}")
    assert (margin.low, margin.high, margin.unit) == (-amount, amount, unit)


@given(st.text(max_size=12))
def test_any_text_is_a_margin_or_one_problem(text: str) -> None:
    try:
        margin = parse_matters(text)
    except OptionError as error:
        assert len(error.problems) == 1
    else:
        assert math.isfinite(margin.high)
        assert margin.high > 0 > margin.low
