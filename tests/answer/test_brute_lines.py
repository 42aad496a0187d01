"""Each line of the robustness table reckoned once more from the rows of the table."""

from __future__ import annotations

import math
from statistics import fmean, median
from typing import Any

import numpy as np
import pytest
from scipy import stats

from tests.answer.by_hand import (
    Fit,
    Made,
    cell_of,
    dense,
    esd_outliers,
    lines_of,
    preparations,
)
from tests.answer.judging import Document, judged
from tests.answer.scenarios import field_day, flagged, keep
from tests.tables import Columns

NINE_DIGITS = 1e-9
MARGIN = math.log(1.05)


def lines(document: Document, surface: int = 0, contrast: int = 0) -> dict[str, Document]:
    """Lines by code; each block left out by its text."""
    found = document["surfaces"][surface]["contrasts"][contrast]["robustness"]
    return {line["text"] if line["code"] == "block-left-out" else line["code"]: line for line in found}


def check(line: Document, expected: Fit, margin: float | None = MARGIN) -> None:
    assert line["estimate"] == pytest.approx(expected.estimate, rel=NINE_DIGITS, abs=1e-13)
    assert line["p_difference"] == pytest.approx(expected.p, rel=1e-8)
    half = float(stats.t.isf(0.025, expected.df)) * expected.se
    assert line["interval"] == pytest.approx([expected.estimate - half, expected.estimate + half], rel=1e-8)
    if margin is not None:
        inside = min(expected.estimate + margin, margin - expected.estimate)
        tail = float(stats.t.sf(inside / expected.se, expected.df))
        assert line["p_alike"] == pytest.approx(tail, rel=1e-8)


def set_aside(table: Columns, rows: list[int]) -> Columns:
    return flagged(table, "void", dict.fromkeys(rows, "taken out"))


def changed(table: Columns, values: dict[int, float]) -> Columns:
    response = [values.get(row, value) for row, value in enumerate(table["response"])]
    return {**table, "response": response}


THREE = field_day(treatments=("bare", "rub", "wax"), blocks=7, launches=4)
PAIRS = field_day(blocks=8, launches=4)


def test_raw_scale() -> None:
    document = judged(PAIRS, matters="5 %")
    for at, surface in enumerate(("wet", "dry")):
        made = preparations(PAIRS, surface, scale="difference")
        line = lines(document, at)["raw-scale"]
        assert line["scale"] == "difference"
        expected = dense(made, "bare", "rub")
        check(line, expected, margin=None)
        # 5 % either way of the reference's mean, in metres.
        mean = fmean(each.value for each in made if each.treatment == "bare")
        inside = [expected.estimate - mean * (1 / 1.05 - 1), mean * 0.05 - expected.estimate]
        tails = [float(stats.t.sf(room / expected.se, expected.df)) for room in inside]
        assert line["p_alike"] == pytest.approx(max(tails), rel=1e-8)


def test_log_scale() -> None:
    document = judged(PAIRS, matters=0.3)
    made = preparations(PAIRS, "wet")
    line = lines(document)["log-scale"]
    assert line["scale"] == "ratio"
    expected = dense(made, "bare", "rub")
    check(line, expected, margin=None)
    raw = preparations(PAIRS, "wet", scale="difference")
    mean = fmean(each.value for each in raw if each.treatment == "bare")
    inside = [expected.estimate - math.log(1 - 0.3 / mean), math.log(1 + 0.3 / mean) - expected.estimate]
    tails = [float(stats.t.sf(room / expected.se, expected.df)) for room in inside]
    assert line["p_alike"] == pytest.approx(max(tails), rel=1e-8)


def without_items(made: list[Made]) -> list[float]:
    """Values with what least squares gives to each item beyond the first taken out."""
    names = [list(dict.fromkeys(getattr(each, of) for each in made)) for of in ("block", "treatment", "item")]
    columns = [
        [float(getattr(each, of) == label) for each in made]
        for of, labels in zip(
            ("block", "treatment", "item"), (names[0], names[1][1:], names[2][1:]), strict=True
        )
        for label in labels
    ]
    y = np.array([each.value for each in made])
    effects = np.linalg.lstsq(np.array(columns).T, y, rcond=None)[0][-(len(names[2]) - 1) :]
    special = dict(zip(names[2][1:], effects, strict=True))
    return [each.value - special.get(each.item, 0.0) for each in made]


def test_hodges_lehmann_of_pairs() -> None:
    document = judged(PAIRS, matters="5 %")
    made = preparations(PAIRS, "wet")
    values = zip(made, without_items(made), strict=True)
    value = {(each.block, each.treatment): y for each, y in values}
    differences = [value[block, "rub"] - value[block, "bare"] for block in dict.fromkeys(b for b, _ in value)]
    walsh = [(x + y) / 2 for at, x in enumerate(differences) for y in differences[at:]]
    assert lines(document)["hodges-lehmann"]["estimate"] == pytest.approx(median(walsh), rel=NINE_DIGITS)


def test_hodges_lehmann_of_larger_rounds() -> None:
    table = {**PAIRS, "block": [f"q{int(name[1:]) // 2}" for name in PAIRS["block"]]}
    document = judged(table, matters="5 %")
    made = preparations(table, "wet")
    values = list(zip(made, without_items(made), strict=True))
    cross = [
        y - x
        for each, y in values
        for other, x in values
        if each.block == other.block and (each.treatment, other.treatment) == ("rub", "bare")
    ]
    assert len(cross) == 16
    assert lines(document)["hodges-lehmann"]["estimate"] == pytest.approx(median(cross), rel=NINE_DIGITS)


def test_own_pair() -> None:
    document = judged(THREE, matters="5 %")
    for contrast, name in enumerate(("rub", "wax")):
        made = [each for each in preparations(THREE, "wet") if each.treatment in ("bare", name)]
        expected = dense(made, "bare", name)
        line = lines(document, contrast=contrast)["own-pair"]
        check(line, expected)
        own = document["surfaces"][0]["contrasts"][contrast]["own_pair"]
        assert own["df"] == expected.df and own["p"] == line["p_difference"]


def test_outliers_out() -> None:
    planted = changed(PAIRS, {5: PAIRS["response"][5] * 1.9, 20: PAIRS["response"][20] * 0.4})
    rows = esd_outliers(planted, "wet")
    assert {5, 20} & set(rows)
    line = lines(judged(planted, matters="5 %"))["outliers-out"]
    assert f"({len(rows)} found)" in line["text"]
    check(line, dense(preparations(set_aside(planted, rows), "wet"), "bare", "rub"))


def test_outliers_of_small_and_large_preparations_have_one_variance() -> None:
    # A deviation from a mean of two is smaller than one from a mean of five: scaled, it stands out.
    table = keep(field_day(blocks=8, launches=5), lambda row: row["block"] != "r0" or row["order"] < 4)
    table = changed(table, {0: table["response"][0] * 1.35})
    assert table["preparation"].count(table["preparation"][0]) == 2
    rows = esd_outliers(table, "wet")
    assert sorted(rows) == [0, 3]  # without the scaling none is found
    line = lines(judged(table, matters="5 %"))["outliers-out"]
    assert f"({len(rows)} found)" in line["text"]
    check(line, dense(preparations(set_aside(table, rows), "wet"), "bare", "rub"))


def test_no_outliers_is_the_primary_test() -> None:
    document = judged(PAIRS, matters="5 %")
    rows = esd_outliers(PAIRS, "wet")
    line = lines(document)["outliers-out"]
    assert f"({len(rows)} found)" in line["text"]
    check(line, dense(preparations(set_aside(PAIRS, rows), "wet"), "bare", "rub"))


@pytest.mark.parametrize("table", [PAIRS, THREE])
def test_drift(table: Columns) -> None:
    document = judged(table, matters="5 %")
    for at, surface in enumerate(("wet", "dry")):
        made = preparations(table, surface)
        expected = dense(made, "bare", "rub", extra=np.array([each.order for each in made]))
        check(lines(document, at)["drift"], expected)


def without_wear(table: Columns, surface: str) -> list[Made]:
    """Take a slope over the launches since preparation, from within preparations, off the valid launches."""
    rows = sorted(lines_of(table), key=lambda row: row["rank"])
    shared: dict[tuple[str, ...], int] = {}
    for row in rows:
        key = (row["surface"], *cell_of(row))
        row["since"] = shared[key] = shared.get(key, -1) + 1
    here = [row for row in rows if row["surface"] == surface]
    cells: dict[tuple[str, ...], list[dict[str, Any]]] = {}
    for row in here:
        cells.setdefault(cell_of(row), []).append(row)
    sxy = sxx = 0.0
    for cell in cells.values():
        valid = [row for row in cell if not row["void"]]
        age = fmean(row["since"] for row in valid)
        y = fmean(math.log(row["response"]) for row in valid)
        sxy += sum((row["since"] - age) * (math.log(row["response"]) - y) for row in valid)
        sxx += sum((row["since"] - age) ** 2 for row in valid)
    slope = sxy / sxx
    out = {}
    for row in here:
        planned = fmean(each["since"] for each in cells[cell_of(row)])
        out[row["order"]] = row["response"] * math.exp(-slope * (row["since"] - planned))
    response = [out.get(order, y) for order, y in zip(table["order"], table["response"], strict=True)]
    return preparations({**table, "response": response}, surface)


def test_wear_moves_means_only_where_launches_are_set_aside() -> None:
    plain = judged(PAIRS, matters="5 %")
    estimate = plain["surfaces"][0]["contrasts"][0]["estimate"]
    assert lines(plain)["wear"]["estimate"] == pytest.approx(estimate, rel=NINE_DIGITS)
    table = flagged(PAIRS, "void", {0: "x", 2: "x", 17: "x", 33: "x"})
    document = judged(table, matters="5 %")
    expected = dense(without_wear(table, "wet"), "bare", "rub")
    assert expected.estimate != pytest.approx(
        document["surfaces"][0]["contrasts"][0]["estimate"], rel=NINE_DIGITS
    )
    check(lines(document)["wear"], expected)


@pytest.mark.parametrize("blocks", [8, 7])
def test_halves(blocks: int) -> None:
    names = [f"r{number}" for number in range(blocks)]
    table = keep(field_day(blocks=8, launches=2), lambda row: row["block"] in names)
    found = lines(judged(table, matters="5 %"))
    early = names[: (blocks + 1) // 2]  # an odd round belongs to the first half
    made = preparations(table, "wet")
    check(found["first-half"], dense([each for each in made if each.block in early], "bare", "rub"))
    check(found["second-half"], dense([each for each in made if each.block not in early], "bare", "rub"))


def test_halves_go_by_time_not_by_rows() -> None:
    table = field_day(blocks=8, launches=2)
    backwards = {name: cells[::-1] for name, cells in table.items()}
    first = lines(judged(table, matters="5 %"), surface=0)
    second = lines(judged(backwards, matters="5 %", reference="bare"), surface=1)
    for code in ("first-half", "second-half", "drift", "wear"):
        assert first[code]["estimate"] == pytest.approx(second[code]["estimate"], rel=NINE_DIGITS)


@pytest.mark.parametrize("table", [PAIRS, THREE])
def test_each_round_left_out(table: Columns) -> None:
    found = lines(judged(table, matters="5 %"))
    made = preparations(table, "wet")
    names = dict.fromkeys(each.block for each in made)
    for name in names:
        expected = dense([each for each in made if each.block != name], "bare", "rub")
        check(found[f"Round {name} left out"], expected)
    assert sum("left out" in text for text in found) == len(names)


def filled(table: Columns, surface: str, treatment: str, *, favour: bool) -> list[Made]:
    """Fill launches set aside and at-least launches of two treatments in, all for or all against one."""
    rows = lines_of(table)
    valid = [row["response"] for row in rows if row["surface"] == surface and not row["void"]]
    values, void = list(table["response"]), list(table["void"])
    for at, row in enumerate(rows):
        if row["surface"] != surface or row["treatment"] not in ("bare", treatment):
            continue
        up = (row["treatment"] == treatment) == favour
        if row["void"]:
            values[at], void[at] = (max(valid) if up else min(valid)), ""
        elif row["at_least"] and up:
            values[at] = max(row["response"], *valid)
    return preparations({**table, "response": values, "void": void}, surface)


@pytest.mark.parametrize("contrast", [0, 1])
def test_fills(contrast: int) -> None:
    treatment = ("rub", "wax")[contrast]
    table = flagged(THREE, "void", {0: "x", 4: "x", 14: "x", 25: "x", 26: "x", 170: "x"})
    table = flagged(table, "at_least", {3: "yes", 7: "1", 8: "yes", 171: "yes"})
    found = lines(judged(table, matters="5 %"), contrast=contrast)
    for code, favour in (("filled-for", True), ("filled-against", False)):
        check(found[code], dense(filled(table, "wet", treatment, favour=favour), "bare", treatment))
    assert found["filled-for"]["estimate"] > found["filled-against"]["estimate"]


def test_nothing_to_fill_no_line() -> None:
    assert not {"filled-for", "filled-against"} & set(lines(judged(PAIRS, matters="5 %")))


def test_launches_that_left_the_lane_are_taken_half_as_far_again() -> None:
    flags = ["yes" if at in (3, 9, 14) else "" for at in range(len(PAIRS["response"]))]
    table = {**PAIRS, "at_least": flags}
    found = lines(judged(table, matters="5 %"))
    for code, name in (("beyond-for", "rub"), ("beyond-against", "bare")):
        moved = {
            at: table["response"][at] * 1.5
            for at, flag in enumerate(flags)
            if flag and table["treatment"][at] == name and table["surface"][at] == "wet"
        }
        check(found[code], dense(preparations(changed(table, moved), "wet"), "bare", "rub"))
    assert not {"beyond-for", "beyond-against"} & set(lines(judged(PAIRS, matters="5 %")))


def test_a_blank_reading_set_aside_is_filled_in_too() -> None:
    table = flagged(PAIRS, "void", {1: "nose under"})
    blank = {**table, "response": [None if row == 1 else y for row, y in enumerate(table["response"])]}
    with_number, with_blank = (lines(judged(each, matters="5 %")) for each in (table, blank))
    for code in ("filled-for", "filled-against"):
        assert with_number[code]["estimate"] == with_blank[code]["estimate"]


def test_a_line_that_changes_the_verdict_says_so() -> None:
    # One launch in two of the treatment set aside: had they been the shortest, nothing would be left.
    table = field_day(surfaces=("wet",), blocks=8, launches=4, effect=0.12, seed=5)
    assert judged(table, matters="5 %")["surfaces"][0]["contrasts"][0]["verdict"] == "higher"
    rubbed = [at for at, name in enumerate(table["treatment"]) if name == "rub"]
    document = judged(set_aside(table, rubbed[::2]), matters="5 %")
    (contrast,) = document["surfaces"][0]["contrasts"]
    against = lines(document)["filled-against"]
    assert contrast["verdict"] == "higher"
    assert against["verdict"] != "higher" and against["changes"] is True
