"""Names and flags."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.intake.labels import (
    blank_label,
    doubtful_flags,
    first_in_order,
    flags_set,
    names_alike,
    read_labels,
)
from evenglide.intake.sheet import Cell, UncalculatedFormula
from evenglide.readings.launches import Factor


def test_names_are_trimmed_kept_in_case_and_coded_as_met() -> None:
    labels = read_labels(["wet ", "Wet", " wet", None, "dry", "  "])
    assert labels.names == ("wet", "Wet", "", "dry")
    assert labels.codes.tolist() == [0, 1, 0, 2, 3, 2]


def test_whole_numbers_and_their_texts_are_one_name() -> None:
    labels = read_labels([1, 1.0, "1", 1.5, "1.5", -0.0, 2**60, "x"])
    assert labels.names == ("1", "1.5", "0", str(2**60), "x")
    assert labels.codes.tolist() == [0, 0, 0, 1, 1, 2, 3, 4]


def test_what_no_name_can_be() -> None:
    labels = read_labels(["wet", "#REF!", UncalculatedFormula("=A1"), "#REF!"])
    assert [(index, fault.code) for index, fault in labels.faults] == [
        (1, "error-value"),
        (2, "formula-not-calculated"),
        (3, "error-value"),
    ]


@pytest.mark.parametrize(
    "cell", [None, "", "  ", "0", "no", "No", "NO ", "false", "FALSE", "False", 0, 0.0, "0.0"]
)
def test_flags_that_are_not_set(cell: Cell) -> None:
    assert not flags_set(read_labels([cell]))[0]


@pytest.mark.parametrize(
    "cell", ["1", "yes", "true", "TRUE", "x", "rig moved", 1, 1.0, "00", "n", "-", "0.5", "0.01"]
)
def test_anything_else_is_set(cell: Cell) -> None:
    assert flags_set(read_labels([cell]))[0]


def test_texts_that_people_may_mean_as_no_are_pointed_at() -> None:
    remarks = doubtful_flags(read_labels(["N/A", "rig moved", "N/A", "-", "", "no"]), "out")
    assert [dict(remark.facts) for remark in remarks] == [
        {"column": "out", "text": "N/A", "rows": 2},
        {"column": "out", "text": "-", "rows": 1},
    ]


def factor(*labels: str) -> Factor:
    read = read_labels(labels)
    return Factor(labels=read.names, codes=read.codes, named=True)


def test_names_alike() -> None:
    (remark,) = names_alike(
        factor("wet snow", "Wet Snow", "dry", "wetsnow", "é", "e\u0301", "", "dri"), "snow"
    )
    assert remark.code == "names-alike"
    assert remark.facts == {
        "column": "snow",
        "groups": (("wet snow", "Wet Snow", "wetsnow"), ("é", "e\u0301")),
    }
    assert names_alike(factor("wet", "dry", ""), "snow") == ()


def test_first_in_order_keeps_the_others_as_they_are() -> None:
    moved = first_in_order(factor("a", "b", "c", "a"), "c")
    assert moved.labels == ("c", "a", "b")
    assert moved.codes.tolist() == [1, 2, 0, 1]


def test_blank_label() -> None:
    assert blank_label(factor("a", "", "b", "")).tolist() == [False, True, False, True]
    assert not blank_label(factor("a", "b")).any()


@given(st.lists(st.sampled_from(["a", "b", "c", " a", ""]) | st.integers(0, 3), min_size=1))
def test_codes_give_back_the_names(cells: list[Cell]) -> None:
    labels = read_labels(cells)
    assert [labels.names[code] for code in labels.codes] == [str(cell).strip() for cell in cells]
    first = np.unique(labels.codes, return_index=True)[1]
    assert (np.diff(first) > 0).all()
