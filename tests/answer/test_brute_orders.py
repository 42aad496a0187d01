"""Randomisation p of whole answers against every order, refitted one by one."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

import numpy as np
import pytest

from tests.answer.by_hand import Made, preparations
from tests.answer.judging import judged
from tests.answer.scenarios import field_day, flagged, keep, without
from tests.tables import Columns, paired

Key = tuple[str, str]
TIE = 1e-9


def common(
    table: Columns, surfaces: tuple[str | None, ...], pair: tuple[str, str]
) -> dict[Key, list[Made | None]]:
    """Value of each preparation of two treatments on each surface, None where it has none."""
    found: dict[Key, list[Made | None]] = {}
    for at, surface in enumerate(surfaces):
        made = [each for each in preparations(table, surface) if each.treatment in pair]
        both = {each.block for each in made if each.treatment == pair[0]}
        both &= {each.block for each in made if each.treatment == pair[1]}
        for each in made:
            if each.block in both:
                found.setdefault((each.block, each.label), [None] * len(surfaces))[at] = each
    return found


def orders(units: dict[Key, list[Made | None]], treatment: str) -> Iterator[dict[Key, bool]]:
    """Every way to give the labels out with the same numbers in each round, on each surface too."""
    treated = {
        key: any(m is not None and m.treatment == treatment for m in made) for key, made in units.items()
    }
    blocks = {block: [key for key in units if key[0] == block] for block, _ in units}
    choices = [
        [
            chosen
            for chosen in combinations(keys, sum(treated[key] for key in keys))
            if counts(units, keys, set(chosen)) == counts(units, keys, {key for key in keys if treated[key]})
        ]
        for keys in blocks.values()
    ]
    for picked in product(*choices):
        marked = {key for part in picked for key in part}
        yield {key: key in marked for key in units}


def counts(units: dict[Key, list[Made | None]], keys: list[Key], marked: set[Key]) -> list[int]:
    """How many marked preparations have a value on each surface."""
    return [
        sum(values is not None for values in column)
        for column in zip(*(units[k] for k in marked), strict=True)
    ]


def fit(made: list[Made], z: list[bool], *, items: bool) -> tuple[float, float] | None:
    """Coefficient of the label and its |t|, by dense least squares; None where there is no estimate."""
    blocks, gear = (dict.fromkeys(names) for names in ([m.block for m in made], [m.item for m in made]))
    columns = [np.array(z, dtype=float)]
    columns += [np.array([m.block == name for m in made], dtype=float) for name in blocks]
    if items:
        columns += [np.array([m.item == name for m in made], dtype=float) for name in list(gear)[1:]]
    x, y = np.column_stack(columns), np.array([m.value for m in made])
    rank = np.linalg.matrix_rank(x)
    if np.linalg.matrix_rank(x[:, 1:]) == rank:
        return None
    b = np.linalg.lstsq(x, y, rcond=None)[0]
    rest = y - x @ b
    df = len(y) - rank
    if df < 1:
        return float(b[0]), np.nan
    se = np.sqrt(rest @ rest / df * np.linalg.pinv(x.T @ x)[0, 0])
    return float(b[0]), abs(float(b[0])) / float(se)


def joint_p(table: Columns, surfaces: tuple[str, ...], treatment: str, *, items: bool) -> tuple[float, int]:
    """Share of orders whose largest |t| over the surfaces reaches the observed one, and their number."""
    units = common(table, surfaces, ("bare", treatment))
    reached, observed = [], None
    for order in orders(units, treatment):
        largest = 0.0
        for at in range(len(surfaces)):
            here = [(made[at], order[key]) for key, made in units.items() if made[at] is not None]
            found = fit([m for m, _ in here], [z for _, z in here], items=items)  # type: ignore[misc]
            largest = np.nan if found is None else max(largest, found[1])
            if found is None:
                break
        if np.isnan(largest):
            continue
        reached.append(largest)
        if all(
            order[key] == any(m is not None and m.treatment == treatment for m in made)
            for key, made in units.items()
        ):
            observed = largest
    assert observed is not None
    return float(np.mean(np.array(reached) >= observed * (1 - TIE))), len(reached)


def single_p(table: Columns, surface: str | None, treatment: str, *, items: bool) -> tuple[float, int]:
    """Share of orders whose estimate on one surface reaches the observed one, and their number."""
    units = common(table, (surface,), ("bare", treatment))
    made = [each for (each,) in units.values() if each is not None]
    estimates, observed = [], None
    for order in orders(units, treatment):
        found = fit(made, list(order.values()), items=items)
        if found is not None:
            estimates.append(abs(found[0]))
            if list(order.values()) == [each.treatment == treatment for each in made]:
                observed = abs(found[0])
    assert observed is not None
    return float(np.mean(np.array(estimates) >= observed - 1e-10)), len(estimates)


PAIRS = field_day(blocks=6, launches=2, seed=3)


def coat_set_aside(table: Columns) -> Columns:
    """One coat lost on one surface only."""
    places = zip(table["preparation"], table["surface"], strict=True)
    rows = [row for row, place in enumerate(places) if place == ("coat 21", "dry")]
    return flagged(table, "void", dict.fromkeys(rows, "nose under the snow"))


JOINT = {
    "pairs with items": (PAIRS, "rub"),
    "pairs": (without(PAIRS, "item"), "rub"),
    "a coat set aside on one surface": (coat_set_aside(without(PAIRS, "item")), "rub"),
    "rounds of four": (
        without({**PAIRS, "block": [f"q{int(b[1:]) // 2}" for b in PAIRS["block"]]}, "item"),
        "rub",
    ),
    "three treatments": (field_day(treatments=("bare", "rub", "wax"), blocks=5, launches=2), "wax"),
}


@pytest.mark.parametrize("name", JOINT)
def test_joint_p_over_surfaces(name: str) -> None:
    table, treatment = JOINT[name]
    document = judged(table, matters="5 %", shared_preparations=True)
    expected, number = joint_p(table, ("wet", "dry"), treatment, items="item" in table)
    assert number <= 2**16
    for surface in document["surfaces"]:
        (contrast,) = [each for each in surface["contrasts"] if each["treatment"] == treatment]
        assert contrast["p_randomisation_joint"] == pytest.approx(expected, rel=1e-12)


SINGLE = {
    "pairs with items": (PAIRS, "rub"),
    "rounds of four with items": (
        {**PAIRS, "block": [f"q{int(b[1:]) // 2}" for b in PAIRS["block"]]},
        "rub",
    ),
    "no rounds": (without(field_day(blocks=4, launches=2), "item", "block"), "rub"),
    "unequal rounds": (
        without(
            keep(field_day(blocks=5), lambda row: (row["block"], row["treatment"]) != ("r2", "bare")), "item"
        ),
        "rub",
    ),
    "three treatments": (field_day(treatments=("bare", "rub", "wax"), blocks=6, launches=1), "wax"),
}


@pytest.mark.parametrize("name", SINGLE)
def test_p_on_each_surface(name: str) -> None:
    table, treatment = SINGLE[name]
    document = judged(table, matters="5 %")
    for surface in document["surfaces"]:
        (contrast,) = [each for each in surface["contrasts"] if each["treatment"] == treatment]
        expected, number = single_p(table, surface["surface"], treatment, items="item" in table)
        assert contrast["assignments"] == number
        assert contrast["p_randomisation"] == pytest.approx(expected, rel=1e-12)
        assert contrast["p_randomisation_joint"] is None


def test_orders_without_an_estimate_are_not_counted() -> None:
    # Six pairs of two pieces of gear: in 2 of 64 orders the treatment would stay on one of them.
    (contrast,) = judged(paired(6, 2))["surfaces"][0]["contrasts"]
    assert contrast["assignments"] == 62
    assert contrast["smallest_p"] == pytest.approx(2 / 62)


@pytest.mark.parametrize("blocks", [5, 10])
def test_over_one_surface_the_joint_test_is_the_single_one(blocks: int) -> None:
    # The total of squares is fixed, so |t| grows with the size of the estimate.
    table = without(field_day(surfaces=("wet",), blocks=blocks, launches=1), "item")
    (contrast,) = judged(table, shared_preparations=True)["surfaces"][0]["contrasts"]
    assert contrast["assignments"] == 2**blocks
    assert contrast["p_randomisation_joint"] == pytest.approx(contrast["p_randomisation"], rel=1e-12)


def test_orders_beyond_counting_are_drawn_for_the_joint_test() -> None:
    table = without(field_day(surfaces=("wet",), blocks=18, launches=1, effect=0.02), "item")
    document = judged(table, shared_preparations=True)
    (contrast,) = document["surfaces"][0]["contrasts"]
    (note,) = [note for note in contrast["notes"] if note["code"] == "joint-by-chance"]
    assert note["facts"]["draws"] == 99_999
    assert 0.02 < contrast["p_randomisation"] < 0.98 and contrast["assignments"] == 2**18
    error = note["facts"]["error"]
    assert abs(contrast["p_randomisation_joint"] - contrast["p_randomisation"]) < 4 * error
    assert judged(table, shared_preparations=True) == document  # a fixed seed
