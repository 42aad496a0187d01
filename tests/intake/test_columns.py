"""Columns handed over from Python, and their fingerprint."""

from __future__ import annotations

import datetime
import decimal
import fractions
import hashlib
import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import OptionError, TableError
from evenglide.intake.canonical import sheet_sha256
from evenglide.intake.columns import sheet_from_columns
from evenglide.intake.launches import launches_from_columns
from evenglide.intake.options import JudgeOptions
from tests.intake.tables import PLAIN, ROLES, SLIDERS, codes, take

GOOD = {"rub": ["bare", "wax", "bare"], "glide_m": [2.9, 3, "3.10"]}


def columns(table: Any, **options: Any):
    return launches_from_columns(table, JudgeOptions(**(PLAIN | options)))


def problems_of(table: Any, **options: Any):
    with pytest.raises(TableError) as caught:
        columns(table, **options)
    return caught.value.problems


def fingerprint(table: Any, **options: Any) -> str:
    return sheet_sha256(sheet_from_columns(table, JudgeOptions(**(PLAIN | options))))


class Column:
    """Stands in for a column of a data frame: only `tolist`."""

    def __init__(self, cells: list[Any]) -> None:
        self._cells = cells

    def tolist(self) -> list[Any]:
        return self._cells


class Frame:
    """Stands in for a data frame: `keys` and `[]`, no mapping."""

    def __init__(self, table: dict[str, list[Any]]) -> None:
        self._table = table

    def keys(self) -> Iterator[str]:
        return iter(self._table)

    def __getitem__(self, name: str) -> Column:
        return Column(self._table[name])


def test_a_mapping_of_lists() -> None:
    intake, sha256 = columns(GOOD)
    launches = intake.launches
    assert launches.value.tolist() == [2.9, 3.0, 3.1]
    assert launches.decimals == 2
    assert launches.treatment.labels == ("bare", "wax")
    assert launches.row.tolist() == [2, 3, 4]
    assert sha256 == fingerprint(GOOD)


def test_arrays_frames_and_lists_are_one() -> None:
    arrays = {"rub": np.array(["bare", "wax", "bare"]), "glide_m": np.array([2.9, 3.0, 3.1])}
    expected, sha256 = columns({name: array.tolist() for name, array in arrays.items()})
    for table in (arrays, Frame({name: array.tolist() for name, array in arrays.items()})):
        intake, same = columns(table)
        assert same == sha256
        assert (intake.launches.value == expected.launches.value).all()
        assert intake.launches.treatment.labels == expected.launches.treatment.labels


def test_a_file_and_its_columns_give_the_same_launches() -> None:
    header, *rows = (line.split(",") for line in SLIDERS.splitlines())
    table = dict(zip(header, map(list, zip(*rows, strict=True)), strict=True))
    from_columns, _ = columns(table, **ROLES)
    from_file = take(SLIDERS, **ROLES)
    for field in ("value", "void", "at_least", "order", "row"):
        assert np.array_equal(
            getattr(from_columns.launches, field),
            getattr(from_file.launches, field),
            equal_nan=field == "value",
        )
    for field in ("treatment", "surface", "block", "item", "preparation", "direction", "session"):
        one, other = getattr(from_columns.launches, field), getattr(from_file.launches, field)
        assert one.labels == other.labels
        assert one.codes.tolist() == other.codes.tolist()
    assert from_columns.launches.cause == from_file.launches.cause
    assert from_columns.remarks == from_file.remarks


def test_kinds_of_cells() -> None:
    table = {
        "rub": ["bare", "wax"] * 3,
        "glide_m": [np.float64(2.5), np.int64(3), decimal.Decimal("2.75"), fractions.Fraction(5, 2), 3, "4"],
        "day": [datetime.datetime(2026, 1, 17), 1, 1.0, np.str_("x"), np.bool_(True), "1"],
        "out": [None, math.nan, False, np.bool_(False), 0, decimal.Decimal("NaN")],
    }
    launches = columns(table, session="day", void="out")[0].launches
    assert launches.value.tolist() == [2.5, 3.0, 2.75, 2.5, 3.0, 4.0]
    assert launches.session.labels == ("2026-01-17", "1", "x", "True")
    assert not launches.void.any()


def test_nan_is_blank() -> None:
    (problem,) = problems_of(GOOD | {"glide_m": [1, math.nan, 2]})
    assert (problem.code, problem.where) == ("blank-cell", "glide_m[1]")
    (problem,) = problems_of(GOOD | {"round": ["1", math.nan, None]}, block="round")[:1]
    assert (problem.code, problem.where) == ("blank-cell", "round[1]")
    out = GOOD | {"glide_m": [1, 2, math.nan], "out": [None, None, "moved"]}
    assert columns(out, void="out")[0].launches.cause == ("", "", "moved")


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        ([1, "31.4 m", 2], "unit-in-cell"),
        ([1, math.inf, 2], "not-finite"),
        ([1, True, 2], "not-a-number"),
        ([1, datetime.date(2026, 1, 17), 2], "date-in-cell"),
        ([1, 10**400, 2], "number-too-large"),
        ([1, [2], 3], "bad-cell"),
        ([1, b"2", 3], "bad-cell"),
        ([1, 2j, 3], "bad-cell"),
        ([1, "1,234", 2], "doubtful-comma"),
    ],
)
def test_bad_cells(cells: list[Any], code: str) -> None:
    (problem,) = problems_of(GOOD | {"glide_m": cells})
    assert (problem.code, problem.where) == (code, "glide_m[1]")


def test_dates_in_an_array_do_not_pass_for_readings() -> None:
    days = np.array(["2026-01-17", "2026-01-18", "2026-01-19"], dtype="datetime64[D]")
    assert set(codes(problems_of(GOOD | {"glide_m": days}))) == {"date-in-cell"}
    assert columns(GOOD | {"day": days}, session="day")[0].launches.session.labels[0] == "2026-01-17"


@pytest.mark.parametrize("column", ["abc", b"abc", 3.0, None, object()])
def test_no_column(column: Any) -> None:
    problems = problems_of({"rub": ["a", "b"], "glide_m": column})
    assert codes(problems)[0] == "no-column"
    assert problems[0].where == "glide_m"


def test_shapes() -> None:
    assert codes(problems_of(GOOD | {"glide_m": [1, 2]})) == ["columns-of-unequal-length"]
    assert codes(problems_of({"rub": [], "glide_m": []})) == ["no-rows"]
    assert codes(problems_of(GOOD | {"glide_m": np.ones((3, 2))})) == ["bad-cell"] * 3
    assert codes(problems_of(GOOD | {"glide_m": np.array(3.0)})) == ["columns-of-unequal-length"]
    assert codes(problems_of([1, 2])) == ["no-columns"]
    assert codes(problems_of({})) == ["no-such-column"] * 2


def test_columns_that_nobody_named_are_never_touched() -> None:
    class Touchy(Frame):
        def __getitem__(self, name: str) -> Column:
            assert name in GOOD
            return super().__getitem__(name)

    assert columns(Touchy(GOOD | {"x": [object()]}))[0].scale == "ratio"


def test_names() -> None:
    assert columns({" rub ": ["a", "b"], "glide_m": [1, 2]})[0].launches.response == "glide_m"
    assert columns({0: ["a", "b"], 1: [1, 2]}, response="1", treatment="0")[0].launches.value.tolist() == [
        1,
        2,
    ]
    assert codes(problems_of({"rub": ["a", "b"], "glide_m": [1, 2], "glide_m ": [1, 2]})) == ["column-twice"]
    (problem,) = problems_of(GOOD, response="glide")
    assert '"glide_m"' in problem.remedy


@pytest.mark.parametrize("name", ["sheet", "encoding"])
def test_options_for_files(name: str) -> None:
    with pytest.raises(OptionError) as caught:
        columns(GOOD, **{name: "utf-8"})
    assert codes(caught.value.problems) == ["not-a-file"]


def test_fingerprint_by_its_definition() -> None:
    document = '[["glide_m",[2.9,3.0,"3.10"]],["rub",["bare","w\\u00e4x",null]]]'
    table = {"x": [0, 0, 0], "rub": [" bare", "wäx ", " "], "glide_m": [2.9, 3, "3.10"]}
    assert fingerprint(table) == hashlib.sha256(document.encode("ascii")).hexdigest()


def test_fingerprint_sees_cells_and_names_and_nothing_else() -> None:
    same = fingerprint(GOOD)
    assert fingerprint({"glide_m": (2.9, 3.0, " 3.10"), "rub": np.array(GOOD["rub"]), "x": [1]}) == same
    assert fingerprint(GOOD | {"glide_m": [2.9, 3, 3.1]}) != same
    assert fingerprint(GOOD | {"rub": ["bare", "wax", "wax"]}) != same
    assert fingerprint(GOOD | {"heat": [1, 1, 1]}, block="heat") != same


ANY = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=4)
    | st.binary(max_size=2)
    | st.dates()
)


@given(st.lists(st.tuples(ANY, ANY), max_size=5))
def test_any_cells_are_launches_or_a_table_error(rows: list[tuple[Any, Any]]) -> None:
    table = {"rub": [row[0] for row in rows], "glide_m": [row[1] for row in rows]}
    try:
        launches = columns(table)[0].launches
    except TableError as error:
        assert error.problems
    else:
        assert np.isfinite(launches.value).all()
        assert len(launches.value) == len(rows)
