"""Which launches share a preparation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.intake.labels import read_labels
from evenglide.intake.preparations import (
    combine,
    each_row_its_own,
    identify_preparations,
    labels_reused,
    middle_ranks,
)
from evenglide.readings.launches import Factor


def factor(text: str) -> Factor:
    """One letter for each launch; a dot is blank."""
    read = read_labels([letter.strip(".") for letter in text])
    return Factor(labels=read.names, codes=read.codes, named=True)


CODES = st.lists(st.tuples(*[st.integers(0, 3)] * 3), min_size=1, max_size=30)


@given(CODES)
def test_combine_tells_apart_what_differs_and_nothing_else(rows: list[tuple[int, ...]]) -> None:
    codes = combine(list(np.array(rows).T))
    met: dict[tuple[int, ...], int] = {}
    assert codes.tolist() == [met.setdefault(row, len(met)) for row in rows]


def test_combine_with_many_values() -> None:
    many = np.arange(200_000)
    assert (combine([many, many[::-1], many, many]) == many).all()


@pytest.mark.parametrize(
    ("shared", "codes"),
    [
        (False, [0, 0, 1, 1, 2, 2, 3, 4]),
        (True, [0, 0, 1, 1, 0, 0, 1, 2]),
    ],
)
def test_identity(shared: bool, codes: list[int]) -> None:
    surface, block = factor("wwwwdddd"), factor("11111112")
    item, treatment, label = factor("rrbbrrbb"), factor("oopp" * 2), factor("aaaaaaaa")
    preparation = identify_preparations(label, (block, item, treatment), surface=surface, shared=shared)
    assert preparation.codes.tolist() == codes
    assert preparation.labels == ("a",) * (max(codes) + 1)
    (remark,) = labels_reused(label, preparation, (block, item, treatment), column="coat")
    assert remark.facts == {"column": "coat", "labels": 1, "over_surfaces_only": 0, "examples": ("a",)}


def test_a_label_that_stands_on_several_surfaces_only_is_told_apart() -> None:
    surface, one = factor("wwdd"), factor("1111")
    treatment, label = factor("opop"), factor("abab")
    cell = (one, one, treatment)
    apart = identify_preparations(label, cell, surface=surface, shared=False)
    (remark,) = labels_reused(label, apart, cell, column="coat")
    assert remark.facts["over_surfaces_only"] == remark.facts["labels"] == 2
    shared = identify_preparations(label, cell, surface=surface, shared=True)
    assert shared.codes.tolist() == [0, 1, 0, 1]
    assert labels_reused(label, shared, cell, column="coat") == ()


def test_launches_without_a_label_share_nothing() -> None:
    one, label = factor("1111"), factor("a..a")
    preparation = identify_preparations(label, (one, one, one), surface=one, shared=False)
    assert preparation.codes.tolist() == [0, 1, 2, 0]
    assert preparation.labels == ("a", "", "")
    assert labels_reused(label, preparation, (one, one, one), column="coat") == ()


def test_each_row_its_own() -> None:
    preparation = each_row_its_own(np.array([2, 4, 5]))
    assert preparation.codes.tolist() == [0, 1, 2]
    assert preparation.labels == ("2", "4", "5")
    assert not preparation.named


@given(st.lists(st.integers(-3, 3).map(float) | st.just(float("nan")), min_size=1, max_size=20))
def test_middle_ranks_by_their_definition(order: list[float]) -> None:
    ranks = middle_ranks(np.array(order))
    for value, rank in zip(order, ranks, strict=True):
        if value != value:  # noqa: PLR0124 - NaN
            assert rank != rank  # noqa: PLR0124
        else:
            below, equal = sum(other < value for other in order), order.count(value)
            assert rank == below + (equal - 1) / 2
