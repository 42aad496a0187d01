"""What counts as a number, and what each other thing is called."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.intake.numbers import FAULTS, LARGEST, SMALLEST, Numbers, decimal_mark, read_numbers
from evenglide.intake.sheet import Cell, UncalculatedFormula


def read(*cells: Cell, separator: str | None = ";", asked: str | None = None) -> Numbers:
    return read_numbers(cells, separator=separator, asked=asked)


def faults(*cells: Cell, separator: str | None = ";", asked: str | None = None) -> list[str]:
    return [fault.code for _, fault in read(*cells, separator=separator, asked=asked).faults]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *(("31.4", 31.4), (" 31.4\t", 31.4), ("\u00a031.4", 31.4), ("31", 31.0), ("31.", 31.0), (".5", 0.5)),
        *(
            ("+3", 3.0),
            ("-3.5", -3.5),
            ("1e3", 1000.0),
            ("1.5E-2", 0.015),
            ("007", 7.0),
            ("0", 0.0),
            ("-0.0", 0.0),
        ),
        ("0" * 50 + "1", 1.0),
    ],
)
def test_plain_numbers(text: str, value: float) -> None:
    numbers = read(text, separator=",")
    assert numbers.faults == ()
    assert numbers.values[0] == value


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        *(
            ("31.4m", "unit-in-cell"),
            ("31.4 m", "unit-in-cell"),
            ("31,4 m", "unit-in-cell"),
            ("5 %", "unit-in-cell"),
        ),
        *(
            ("31'", "unit-in-cell"),
            ("2 m²", "unit-in-cell"),
            ("3 ft", "unit-in-cell"),
            ("20°", "unit-in-cell"),
        ),
        *(("2026-01-17", "date-in-cell"), ("17.01.2026", "date-in-cell"), ("1/17/26", "date-in-cell")),
        *(("08:30", "date-in-cell"), ("2026-01-17T08:30:00", "date-in-cell"), ("1:02:03.5", "date-in-cell")),
        *(("nan", "not-finite"), ("NaN", "not-finite"), ("inf", "not-finite"), ("-Infinity", "not-finite")),
        *((math.inf, "not-finite"), (-math.inf, "not-finite")),
        *(("1e400", "number-too-large"), ("-1e400", "number-too-large"), ("9" * 400, "number-too-large")),
        *((10**400, "number-too-large"), (-(10**400), "number-too-large")),
        *(("1.1e100", "number-too-large"), (-1.1e100, "number-too-large"), (10**101, "number-too-large")),
        *(("9e-101", "number-too-small"), (-9e-101, "number-too-small"), (5e-324, "number-too-small")),
        *(("1e-400", "number-too-small"), ("0.001e-999999", "number-too-small")),
        *(("1,234,567", "thousands-separator"), ("1.234.567", "thousands-separator")),
        *(
            ("1 234", "thousands-separator"),
            ("1'234.5", "thousands-separator"),
            ("1.234,5", "thousands-separator"),
        ),
        *(("#DIV/0!", "error-value"), ("#N/A", "error-value")),
        *(
            ("0x1F", "not-a-number"),
            ("1_000", "not-a-number"),
            ("３１", "not-a-number"),
            ("٣١", "not-a-number"),
        ),
        *(("−3", "not-a-number"), ("e5", "not-a-number"), ("--3", "not-a-number"), ("1..2", "not-a-number")),
        *(("far", "not-a-number"), ("102' 6\"", "not-a-number"), ("31.4 (wind)", "not-a-number")),
        *(("=A1", "not-a-number"), ("TRUE", "not-a-number"), ("9" * 200_000 + "_", "not-a-number")),
        (UncalculatedFormula("=A1"), "formula-not-calculated"),
    ],
)
def test_everything_else_has_a_name(cell: Cell, code: str) -> None:
    for separator in (",", ";", None):
        numbers = read("3.5", cell, separator=separator)
        assert [(index, fault.code) for index, fault in numbers.faults] == [(1, code)]
        assert math.isnan(numbers.values[1])
        assert not numbers.blank[1]


def test_every_fault_says_what_to_do() -> None:
    for code, fault in FAULTS.items():
        assert fault.code == code
        assert fault.expected
        assert fault.remedy.endswith(".")


def test_blank_cells_are_no_faults() -> None:
    numbers = read("", "  ", None, "\u00a0", 3.0)
    assert numbers.faults == ()
    assert numbers.blank.tolist() == [True, True, True, True, False]
    assert np.isnan(numbers.values[:4]).all()


def test_numbers_that_arrive_as_such_are_not_read_again() -> None:
    numbers = read(0.1 + 0.2, 3, -0.5, asked=",")
    assert numbers.values.tolist() == [0.1 + 0.2, 3.0, -0.5]


def test_telling_comma() -> None:
    numbers = read("31,4", "1,234", "30", "-,5")
    assert numbers.values.tolist() == [31.4, 1.234, 30.0, -0.5]
    assert numbers.comma
    assert read("31,4", separator=None).values.tolist() == [31.4]
    assert read("31,4", separator="\t").values.tolist() == [31.4]


@pytest.mark.parametrize("cells", [("1,234",), ("1,234", "2,500"), ("0,250", "5"), ("1,234", "7")])
def test_comma_before_three_digits_alone_is_refused(cells: tuple[str, ...]) -> None:
    found = faults(*cells)
    assert found
    assert set(found) == {"doubtful-comma"}
    assert "--decimal" in FAULTS["doubtful-comma"].remedy


def test_comma_under_a_comma_needs_the_option() -> None:
    assert faults("31,4", separator=",") == ["doubtful-comma"]
    asked = read("31,4", "1,234", separator=",", asked=",")
    assert asked.values.tolist() == [31.4, 1.234]
    assert not asked.comma


def test_asked_for_marks_hold() -> None:
    assert faults("31.4", asked=",") == ["mixed-decimal-marks"]
    assert faults("1.234", asked=",") == ["mixed-decimal-marks"]
    assert faults("31,4", asked=".") == ["mixed-decimal-marks"]
    assert faults("1,234", asked=".") == ["thousands-separator"]
    assert faults("1.234,5", asked=",") == ["thousands-separator"]


def test_two_marks_in_one_column_are_never_both_taken() -> None:
    assert faults("31,4", "30,1", "29.5") == ["mixed-decimal-marks"]
    assert faults("31.4", "30.1", "29,5") == ["mixed-decimal-marks"]


@pytest.mark.parametrize(
    ("cells", "asked", "decimals"),
    [
        (("31", "30"), None, 0),
        (("31.40", "30.1"), None, 2),
        (("31,405", "30,1"), None, 3),
        (("3.14e1",), None, 1),
        (("2e-3",), None, 3),
        (("2.5e3", ""), None, 0),
        ((31.25, 3), None, 2),
        ((1e-7,), None, 7),
        (("x", "1.5"), None, 1),
        (("0e" + "0" * 5 + "1",), None, 0),
    ],
)
def test_decimals(cells: tuple[Cell, ...], asked: str | None, decimals: int) -> None:
    assert read(*cells, asked=asked).decimals == decimals


def test_marks_are_decided_by_text_alone() -> None:
    assert decimal_mark([31.5, 30.5, "29,5"], separator=None, asked=None) == ","
    assert decimal_mark([31.5, None], separator=None, asked=None) == "."


IN_RANGE = st.just(0.0) | st.floats(SMALLEST, LARGEST) | st.floats(-LARGEST, -SMALLEST)


@given(IN_RANGE, st.booleans())
def test_every_float_comes_back_from_its_text(value: float, comma: bool) -> None:
    text = repr(value)
    text, asked = (text.replace(".", ","), ",") if comma else (text, None)
    numbers = read(text, asked=asked)
    assert numbers.faults == ()
    assert numbers.values[0] == value
    assert read(value).decimals == numbers.decimals


@given(st.lists(st.text(max_size=8) | st.floats() | st.integers() | st.none(), min_size=1, max_size=5))
def test_each_cell_is_a_number_or_blank_or_a_fault(cells: list[Cell]) -> None:
    cells = [None if isinstance(cell, float) and math.isnan(cell) else cell for cell in cells]
    for separator, asked in ((";", None), (",", None), (None, ","), (",", ".")):
        numbers = read(*cells, separator=separator, asked=asked)
        faulty = {index for index, _ in numbers.faults}
        for index, value in enumerate(numbers.values):
            assert (not math.isnan(value)) + bool(numbers.blank[index]) + (index in faulty) == 1
        assert not np.isinf(numbers.values).any()


@given(st.text("0123456789,.eE+-_ ", max_size=9))
def test_what_is_taken_has_one_reading(text: str) -> None:
    numbers = read(text, separator=",")
    if not math.isnan(numbers.values[0]):
        assert "," not in text
        assert "_" not in text
        assert " " not in text.strip()
        assert numbers.values[0] == float(text)
