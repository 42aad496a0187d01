"""A good table to launches, column by column."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.intake.tables import ROLES, SLIDERS, column, take


def test_every_column_of_a_full_table() -> None:
    intake = take(SLIDERS, **ROLES, matters="5 %")
    launches = intake.launches
    assert (launches.response, launches.unit, launches.decimals, launches.shared) == (
        "glide_m",
        None,
        2,
        False,
    )
    assert launches.value[:4].tolist() == [2.91, 2.95, 3.12, 3.10]
    assert math.isnan(launches.value[5])
    assert launches.treatment.labels == ("bare", "paraffin")
    assert launches.treatment.codes.tolist() == [0, 0, 1, 1, 0, 0, 1, 1]
    assert launches.surface.labels == ("wet", "dry")
    assert launches.surface.codes.tolist() == [0, 0, 0, 0, 1, 1, 1, 1]
    assert launches.block.labels == ("1",)
    assert launches.item.labels == ("red", "blue")
    assert launches.preparation.labels == ("a", "b", "a", "b")
    assert launches.preparation.codes.tolist() == [0, 0, 1, 1, 2, 2, 3, 3]
    assert launches.direction.labels == ("out", "back")
    assert launches.session.labels == ("Sat", "Sun")
    assert launches.order is not None
    assert launches.order.tolist() == [0, 3, 1, 2, 4, 7, 5, 6]
    assert launches.void.tolist() == [False] * 5 + [True, False, False]
    assert launches.cause == ("",) * 5 + ("nose under the snow", "", "")
    assert launches.at_least.tolist() == [False, False, True] + [False] * 5
    assert launches.row.tolist() == list(range(2, 10))
    assert (launches.mark.labels, launches.mark.named) == (("run-out",), False)
    assert (intake.scale, intake.margin.high if intake.margin else None) == ("ratio", math.log1p(0.05))
    assert [remark.code for remark in intake.remarks] == ["label-reused"]


def test_shared_preparations_span_surfaces() -> None:
    launches = take(SLIDERS, **ROLES, shared_preparations=True).launches
    assert launches.shared
    assert launches.preparation.codes.tolist() == [0, 0, 1, 1, 0, 0, 1, 1]


def test_what_is_not_named_is_one_for_all() -> None:
    launches = take("rub,glide_m\nbare,3\nparaffin,4\nbare,5\n").launches
    for factor in (launches.surface, launches.block, launches.item, launches.direction, launches.session):
        assert (factor.labels, factor.codes.tolist(), factor.named) == (("",), [0, 0, 0], False)
    assert launches.preparation.codes.tolist() == [0, 1, 2]
    assert not launches.preparation.named
    assert launches.order is None
    assert not launches.void.any()
    assert not launches.at_least.any()


def test_reference_first_then_as_met() -> None:
    table = "rub,glide_m\na,1\nb,2\nc,3\nb,4\n"
    assert take(table).launches.treatment.labels == ("a", "b", "c")
    asked = take(table, reference=" c ").launches.treatment
    assert asked.labels == ("c", "a", "b")
    assert asked.codes.tolist() == [1, 2, 0, 2]


def test_unit_from_the_margin_and_scale_from_the_readings() -> None:
    table = column("3.1", "2.9")
    assert take(table, matters="0.3 m").launches.unit == "m"
    assert take(table, matters="0.3 m").scale == "difference"
    assert take(table).scale == "ratio"
    assert take(column("3.1", "0")).scale == "difference"
    assert take(column("3.1", "-2"), scale="difference").scale == "difference"


def test_readings_set_aside_need_no_logarithm() -> None:
    table = "rub,glide_m,out\nbare,1,\nbare,0,rig moved\nparaffin,2,\n"
    assert take(table, void="out", matters="5 %").scale == "ratio"
    assert take(table, void="out").scale == "ratio"


def test_a_row_set_aside_needs_treatment_and_surface_only() -> None:
    table = SLIDERS + "dry,,,paraffin,,,,,,rig moved,\ndry,,,paraffin,,,,,,rig moved,\n"
    launches = take(table, **ROLES).launches
    for factor in (launches.block, launches.item, launches.session):
        assert [factor.labels[code] for code in factor.codes[-2:]] == ["", ""]
        assert "" not in [factor.labels[code] for code in factor.codes[:-2]]
    assert launches.preparation.codes[-2:].tolist() == [4, 5]
    assert launches.direction.labels == ("out", "back")
    assert launches.direction.codes[-1] == launches.direction.codes[4]
    assert launches.order is not None
    assert np.isnan(launches.order[-2:]).all()
    assert launches.order[:8].tolist() == [0, 3, 1, 2, 4, 7, 5, 6]


def test_direction_and_mark_of_a_row_set_aside_follow_its_surface() -> None:
    table = (
        "snow,rub,glide_m,kind,out\nwet,bare,,,moved\nwet,bare,1,timed mark,\nwet,wax,2,timed mark,\n"
        "dry,bare,1,run-out,\ndry,wax,1,run-out,\ndry,wax,1,,moved\nice,bare,,,moved\n"
    )
    mark = take(table, surface="snow", mark="kind", void="out").launches.mark
    assert mark.named
    assert [mark.labels[code] for code in mark.codes] == ["timed mark"] * 3 + ["run-out"] * 3 + ["timed mark"]
    assert mark.labels == ("timed mark", "run-out")


def test_order_is_ranked_over_the_whole_table() -> None:
    table = "rub,glide_m,n\na,1,10\nb,2,-3.5\na,3,10\nb,4,1e3\n"
    order = take(table, order="n").launches.order
    assert order is not None
    assert order.tolist() == [1.5, 0.0, 1.5, 3.0]


def test_decimal_commas() -> None:
    intake = take(column("31,4", "1,234"))
    assert intake.launches.value.tolist() == [31.4, 1.234]
    assert intake.launches.decimals == 3
    assert [(remark.code, dict(remark.facts)) for remark in intake.remarks] == [
        ("decimal-comma", {"column": "glide_m"})
    ]
    asked = take('rub,glide_m\na,"31,4"\nb,"1,234"\n', decimal=",")
    assert asked.launches.value.tolist() == [31.4, 1.234]
    assert asked.remarks == ()


def test_each_column_has_its_own_decimal_mark() -> None:
    table = "rub;glide_m;n\na;31,4;1.5\nb;30,1;2.5\n"
    assert take(table, order="n").launches.value.tolist() == [31.4, 30.1]


def test_remarks() -> None:
    table = "rub,glide_m,coat,out,wall\nbare,1,a,,n\nBare,2,A,,\nwax,3,b,moved,yes\n"
    intake = take(table, preparation="coat", void="out", at_least="wall")
    assert [(remark.code, dict(remark.facts)) for remark in intake.remarks] == [
        ("flag-read-as-yes", {"column": "wall", "text": "n", "rows": 1}),
        ("names-alike", {"column": "rub", "groups": (("bare", "Bare"),)}),
        ("names-alike", {"column": "coat", "groups": (("a", "A"),)}),
        ("void-and-at-least", {"rows": 1}),
    ]
    assert intake.launches.at_least.tolist() == [True, False, False]


def test_two_columns_of_one_name_do_no_harm_unless_named() -> None:
    assert take("rub,glide_m,note,note\na,1,,\nb,2,,\n").launches.value.tolist() == [1, 2]


@pytest.mark.parametrize(("separator", "cell"), [(",", '"31,4"'), (";", "31.4"), ("\t", "31.4")])
def test_separators(separator: str, cell: str) -> None:
    table = f"rub{separator}glide_m\na{separator}{cell}\nb{separator}{cell}\n"
    assert take(table, decimal="," if "," in cell else None).launches.value.tolist() == [31.4, 31.4]
