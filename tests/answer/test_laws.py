"""What no relabelling, reordering, change of unit or copy may change."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answer.judging import Document, judged
from tests.answer.scenarios import field_day, flagged, keep, without
from tests.tables import Columns

FEW = settings(max_examples=25)
NINE_DIGITS = 1e-9
WORDS = ("text", "facts", "data_sha256")


@st.composite
def tables(draw: st.DrawFn) -> Columns:
    """Tables of many layouts: surfaces, treatments, rounds, launches, directions, gear, some set aside."""
    treatments = ("bare", "rub", "wax")[: draw(st.integers(2, 3))]
    table = field_day(
        surfaces=("wet", "dry", "ice")[: draw(st.integers(1, 3))],
        treatments=treatments,
        blocks=draw(st.integers(2, 5)),
        launches=draw(st.integers(1, 3)),
        effect=draw(st.sampled_from([0.0, 0.05, 0.2])),
        seed=draw(st.integers(0, 10_000)),
        ways=draw(st.sampled_from([("out",), ("out", "back")])),
        marks=draw(st.sampled_from([("run-out",), ("timed mark",)])),
    )
    if draw(st.booleans()):
        table = without(table, "item")
    rows = len(table["response"])
    aside = draw(st.sets(st.integers(len(treatments), rows - 1), max_size=3))
    table = flagged(table, "void", dict.fromkeys(aside, "rig moved"))
    lower = draw(st.sets(st.integers(len(treatments), rows - 1), max_size=2))
    return flagged(table, "at_least", dict.fromkeys(lower, "yes"))


def same(found: Any, expected: Any, path: str = "", *, apart_from: tuple[str, ...] = WORDS) -> None:
    """Two documents hold the same words and, to nine digits, the same numbers."""
    if path.rpartition(".")[2] in apart_from:
        return
    if isinstance(expected, dict):
        assert found.keys() == expected.keys(), path
        for key, value in expected.items():
            same(found[key], value, f"{path}.{key}", apart_from=apart_from)
    elif isinstance(expected, list):
        assert len(found) == len(expected), path
        for at, (left, right) in enumerate(zip(found, expected, strict=True)):
            same(left, right, f"{path}[{at}]", apart_from=apart_from)
    elif isinstance(expected, float):
        # Tails of t keep fewer digits where they are tiny; sums around nought keep none.
        assert found == pytest.approx(expected, rel=1e-7, abs=1e-11), path
    else:
        assert found == expected, path


def options_for(table: Columns, **options: Any) -> dict[str, Any]:
    return {"matters": "5 %", "shared_preparations": False, **options}


def permuted(table: Columns, order: list[int]) -> Columns:
    return {name: [cells[at] for at in order] for name, cells in table.items()}


@FEW
@given(tables(), st.sampled_from([0.01, 0.3048, 100.0, 1000.0]), st.booleans())
def test_units_do_not_matter_on_the_ratio_scale(table: Columns, factor: float, shared: bool) -> None:
    chosen = options_for(table, shared_preparations=shared)
    plain = judged(table, **chosen)
    scaled = judged({**table, "response": [y * factor for y in table["response"]]}, **chosen)
    for surface in plain["surfaces"]:
        for facts in surface["treatments"]:
            if facts["mean"] is not None:
                facts["mean"] *= factor
        for contrast in surface["contrasts"]:
            for line in contrast["robustness"]:
                if line["scale"] == "difference" and line["estimate"] is not None:
                    line["estimate"] *= factor
                    line["interval"] = line["interval"] and [end * factor for end in line["interval"]]
    coarse = {"coarse-readings"}  # a step is read from the decimals that a number is written with
    for document in (plain, scaled):
        document["audit"] = [entry for entry in document["audit"] if entry["code"] not in coarse]
    same(scaled, plain)


@FEW
@given(tables(), st.sampled_from([0.01, 0.3048, 100.0, 1e90, 1e-90]))
def test_units_scale_differences(table: Columns, factor: float) -> None:
    plain = judged(table, matters=0.25)
    scaled = judged({**table, "response": [y * factor for y in table["response"]]}, matters=0.25 * factor)
    for before, after in zip(plain["surfaces"], scaled["surfaces"], strict=True):
        for one, other in zip(before["contrasts"], after["contrasts"], strict=True):
            for name in ("estimate", "se"):
                if one[name] is not None:
                    assert other[name] == pytest.approx(one[name] * factor, rel=1e-8, abs=1e-11 * factor)
            for name in ("p_difference", "p_alike", "p_matters", "df", "own_pair"):
                same(other[name], one[name], name, apart_from=("estimate", "se", "interval"))
            for name in ("p_randomisation", "verdict", "size"):
                assert other[name] == one[name]


@FEW
@given(tables(), st.randoms(use_true_random=False), st.booleans())
def test_the_order_of_rows_does_not_matter(table: Columns, source: Any, shared: bool) -> None:
    table = without(table, "order")
    first = 1 + max(table["treatment"].index(name) for name in dict.fromkeys(table["treatment"]))
    rest = list(range(first, len(table["response"])))
    source.shuffle(rest)
    chosen = options_for(table, shared_preparations=shared)
    plain = judged(table, **chosen)
    moved = permuted(table, [*range(first), *rest])
    found = judged(moved, **chosen, **reordered(plain))
    by_name = {surface["surface"]: surface for surface in found["surfaces"]}
    found["surfaces"] = [by_name[surface["surface"]] for surface in plain["surfaces"]]
    for one, other in zip(plain["surfaces"], found["surfaces"], strict=True):
        same(sorted_lines(other), sorted_lines(one))


def reordered(plain: Document) -> dict[str, str]:
    return {"reference": plain["surfaces"][0]["treatments"][0]["treatment"]}


def sorted_lines(surface: Document) -> Document:
    """Lines in one order, whatever the order in which rounds were met."""
    for contrast in surface["contrasts"]:
        contrast["robustness"].sort(key=lambda line: (line["code"], line["text"]))
        contrast["notes"].sort(key=lambda note: (note["code"], note["fields"]))
        for note in contrast["notes"]:
            note["fields"].sort()
    return surface


@FEW
@given(tables(), st.booleans())
def test_names_do_not_matter(table: Columns, shared: bool) -> None:
    named = {
        **table,
        "treatment": [f"<{name}>" for name in table["treatment"]],
        "block": [f"Z{99 - int(name[1:])}" for name in table["block"]],
        "preparation": [name[::-1] for name in table["preparation"]],
    }
    if "item" in table:
        named["item"] = [f"{9 - int(name[-1])}" for name in table["item"]]
    chosen = options_for(table, shared_preparations=shared)
    plain, found = judged(table, **chosen), judged(named, **chosen)
    same(found, plain, apart_from=(*WORDS, "treatment", "reference"))


@FEW
@given(tables(), st.lists(st.floats(-0.7, 0.7), min_size=5, max_size=5))
def test_the_ground_of_a_round_does_not_matter(table: Columns, grounds: list[float]) -> None:
    table = without(table, "at_least", "void")  # filled-in readings and outliers do see the ground
    ground = dict(zip(("r0", "r1", "r2", "r3", "r4"), map(math.exp, grounds), strict=True))
    moved = [y * ground[block] for y, block in zip(table["response"], table["block"], strict=True)]
    chosen = options_for(table)
    plain, found = judged(table, **chosen), judged({**table, "response": moved}, **chosen)
    for one, other in zip(plain["surfaces"], found["surfaces"], strict=True):
        for before, after in zip(one["contrasts"], other["contrasts"], strict=True):
            for document in (before, after):
                document["robustness"] = [
                    line for line in document["robustness"] if line["scale"] == "ratio"
                ]  # the line on differences does see the ground
            same(after, before)
        same(other["omnibus"], one["omnibus"])


@FEW
@given(tables(), st.integers(2, 4))
def test_copies_of_launches_add_no_evidence(table: Columns, copies: int) -> None:
    chosen = options_for(table)
    copied = {name: cells * copies for name, cells in without(table, "order").items()}
    plain, found = judged(without(table, "order"), **chosen), judged(copied, **chosen)
    for one, other in zip(plain["surfaces"], found["surfaces"], strict=True):
        for before, after in zip(one["contrasts"], other["contrasts"], strict=True):
            for name in (
                "estimate",
                "se",
                "df",
                "p_difference",
                "p_alike",
                "p_randomisation",
                "verdict",
                "size",
            ):
                same(after[name], before[name], name)
            same(after["own_pair"], before["own_pair"])
            if before["naive"] and before["naive"]["df"]:
                assert after["naive"]["df"] > before["naive"]["df"]


@FEW
@given(tables())
def test_swapping_treatment_and_reference_turns_the_sign(table: Columns) -> None:
    table = keep(table, lambda row: row["treatment"] != "wax")
    plain, turned = judged(table, **options_for(table)), judged(table, **options_for(table, reference="rub"))
    for before, after in zip(plain["surfaces"], turned["surfaces"], strict=True):
        (one,), (other,) = before["contrasts"], after["contrasts"]
        for name in (
            "se",
            "df",
            "p_difference",
            "p_alike",
            "p_matters",
            "p_randomisation",
            "assignments",
            "size",
        ):
            same(other[name], one[name], name)
        if one["estimate"] is not None:
            assert other["estimate"] == pytest.approx(-one["estimate"], rel=1e-8, abs=1e-12)
            opposite = {"higher": "lower", "lower": "higher"}
            assert other["verdict"] == opposite.get(one["verdict"], one["verdict"])
        for name in ("interval", "interval_adjusted", "interval_randomisation"):
            if one[name] is None:
                assert other[name] is None
            else:
                low, high = (None if end is None else -end for end in one[name])
                same(other[name], [high, low], name)


@FEW
@given(tables(), st.data())
def test_without_sharing_a_surface_is_judged_as_if_it_were_alone(table: Columns, data: st.DataObject) -> None:
    surface = data.draw(st.sampled_from(sorted(set(table["surface"]))))
    alone = keep(table, lambda row: row["surface"] == surface)
    chosen = options_for(table, adjust="none", reference="bare")
    (expected,) = [each for each in judged(table, **chosen)["surfaces"] if each["surface"] == surface]
    (found,) = judged(alone, **chosen)["surfaces"]
    for part in ("treatments", "contrasts"):
        expected[part].sort(key=lambda each: each["treatment"])
        found[part].sort(key=lambda each: each["treatment"])
    same(found, expected)
