"""Every audit code: a table that triggers it, and the nearest one that must not."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import evenglide
from evenglide.analysis.audit.conduct import audit_conduct
from evenglide.analysis.rule import Rule
from evenglide.show.catalogue import AUDIT
from tests.house.tree import ROOT
from tests.tables import Columns, case_of, paired, rows, take_in

Trigger = Callable[[], Mapping[str, str]]


def codes(columns: Mapping[str, Sequence[Any]], **options: Any) -> dict[str, str]:
    """Audit codes of a judged table with their severity (the gravest, if a code comes twice)."""
    roles = {name: name for name in columns if name not in ("response", "treatment")}
    found: dict[str, str] = {}
    for entry in evenglide.judge(
        columns, response="response", treatment="treatment", **{**roles, **options}
    ).audit:
        found.setdefault(entry.code, entry.severity)
        assert entry.text and "{" not in entry.text
    return found


def without(columns: Columns, *names: str) -> Columns:
    return {name: column for name, column in columns.items() if name not in names}


def with_column(columns: Columns, name: str, make: Callable[[int], Any]) -> Columns:
    return {**columns, name: [make(i) for i in range(len(columns["response"]))]}


def first_rows(columns: Columns, count: int) -> Columns:
    return {name: column[:count] for name, column in columns.items()}


def test_rows_as_preparations() -> None:
    table = paired(5, 3)
    assert codes(without(table, "preparation"))["rows-as-preparations"] == "limits"
    one_each = without(paired(5, 1), "preparation")
    assert codes(one_each)["rows-as-preparations"] == "warns"
    assert "rows-as-preparations" not in codes(table)


def test_no_blocks() -> None:
    table = paired(5, 2)
    assert "no-blocks" in codes(without(table, "block"))
    assert "no-blocks" not in codes(table)


def test_blocks_broken() -> None:
    table = paired(5, 2)
    assert "blocks-broken" not in codes(table)
    assert codes(first_rows(table, 17))["blocks-broken"] == "warns"  # one launch of the last round is left


def test_one_preparation_each() -> None:
    lines = [(1.0 + k / 10 + (t == "wax"), t, t) for t in ("bare", "wax") for k in range(4)]
    table = rows("response treatment preparation", lines)
    assert codes(table)["one-preparation-each"] == "limits"
    more = rows("response treatment preparation", [*lines, (1.2, "bare", "q"), (2.1, "wax", "r")])
    assert "one-preparation-each" not in codes(more)


def test_item_is_treatment() -> None:
    table = paired(5, 2)
    tied = {**table, "item": [f"item {name}" for name in table["treatment"]]}
    assert codes(tied)["item-is-treatment"] == "limits"
    assert "item-is-treatment" not in codes(table)


def test_treatment_missing() -> None:
    table = with_column(paired(5, 2), "surface", lambda _: "snow")
    other = {name: [*column, *column] for name, column in table.items()}
    half = len(table["response"])
    other["surface"][half:] = ["ice"] * half
    keep = [i for i in range(2 * half) if i < half or other["treatment"][i] == "bare"]
    lacking = {name: [column[i] for i in keep] for name, column in other.items()}
    assert "treatment-missing" in codes(lacking)
    assert "treatment-missing" not in codes(other)


def test_order_follows_treatment() -> None:
    table = paired(6, 2)
    assert "order-follows-treatment" not in codes(table)
    bare_first = sorted(
        range(len(table["response"])), key=lambda i: (table["block"][i], table["treatment"][i])
    )
    order = [bare_first.index(i) for i in range(len(bare_first))]
    assert codes({**table, "order": order})["order-follows-treatment"] == "limits"
    entries = evenglide.judge(
        {**table, "order": order}, response="response", treatment="treatment", block="block", order="order"
    ).audit
    assert any(entry.facts.get("correlation") == pytest.approx(0.894, abs=0.001) for entry in entries)


def test_order_half_way_confounded_warns() -> None:
    table = paired(6, 2)
    rank = {"bare": 0, "wax": 1}
    order = []
    for i, name in enumerate(table["treatment"]):
        block = i // 4
        flip = block == 0
        order.append(block * 10 + (rank[name] ^ flip) * 2 + i % 2)
    assert codes({**table, "order": order})["order-follows-treatment"] == "warns"


def test_no_order_and_no_days() -> None:
    table = paired(5, 2)
    found = codes(without(table, "order"))
    assert found["no-order"] == "warns" and found["days-unknown"] == "fine"
    dated = with_column(table, "session", lambda i: f"day {i // 10}")
    assert not {"no-order", "days-unknown", "one-day"} & set(codes(dated))


def test_one_day() -> None:
    table = with_column(paired(5, 2), "session", lambda _: "Saturday")
    assert codes(table)["one-day"] == "warns"
    assert "one-day" not in codes(with_column(table, "session", lambda i: "Saturday" if i else "Sunday"))


def test_no_record_of_order() -> None:
    table = paired(5, 2)
    assert "no-record-of-order" in codes(table)
    rule = Rule(scale="ratio", margin=None, order_drawn=True)
    case = case_of(table, scale="ratio")
    assert "no-record-of-order" not in {entry.code for entry in audit_conduct(case.launches, [case], rule)}
    undrawn = replace(rule, order_drawn=False)
    assert "no-record-of-order" in {entry.code for entry in audit_conduct(case.launches, [case], undrawn)}


def test_marks() -> None:
    table = paired(5, 2)
    assert codes(table)["mark-assumed"] == "fine"
    marked = with_column(table, "mark", lambda _: "run-out")
    assert not {"mark-assumed", "marks-mixed"} & set(codes(marked))
    assert (
        codes(with_column(table, "mark", lambda i: "run-out" if i else "timed mark"))["marks-mixed"]
        == "limits"
    )


def test_coarse_readings() -> None:
    table = paired(6, 4)
    fine = {**table, "response": [round(y, 2) for y in table["response"]]}
    coarse = {**table, "response": [round(y * 4) / 4 for y in table["response"]]}
    assert codes(coarse)["coarse-readings"] == "warns"
    assert "coarse-readings" not in codes(fine)


def test_spread_unequal() -> None:
    rng = np.random.default_rng(4)
    lines = [
        (float(rng.normal(10, 0.2 if t == "bare" else 2.0)), t) for t in ("bare", "wax") for _ in range(8)
    ]
    assert codes(rows("response treatment", lines))["spread-unequal"] == "warns"
    rng = np.random.default_rng(4)
    even = [(float(rng.normal(10, 0.2)), t) for t in ("bare", "wax") for _ in range(8)]
    assert "spread-unequal" not in codes(rows("response treatment", even))
    pairs = [(y, t, i % 8) for i, (y, t) in enumerate(lines)]
    assert "spread-unequal" not in codes(rows("response treatment block", pairs))  # pairs are immune


def test_randomisation_cannot_reject() -> None:
    assert codes(paired(5, 2))["randomisation-cannot-reject"] == "warns"  # 30 orders: least p 2/30
    assert "randomisation-cannot-reject" not in codes(paired(6, 2))  # 62 orders: least p 2/62


def test_voids_unequal() -> None:
    table = paired(6, 4)
    wax = [i for i, name in enumerate(table["treatment"]) if name == "wax"]
    bare = [i for i, name in enumerate(table["treatment"]) if name == "bare"]
    one_sided = with_column(table, "void", lambda i: "nose under" if i in wax[:6] else "")
    assert codes(one_sided)["voids-unequal"] == "warns"
    gravely = with_column(table, "void", lambda i: "nose under" if i in wax[:10] else "")
    assert codes(gravely)["voids-unequal"] == "limits"
    even = with_column(table, "void", lambda i: "nose under" if i in wax[:6] or i in bare[:5] else "")
    assert "voids-unequal" not in codes(even)


def test_at_least() -> None:
    table = paired(5, 2)
    assert "at-least" in codes(with_column(table, "at_least", lambda i: "yes" if i == 3 else ""))
    assert "at-least" not in codes(with_column(table, "at_least", lambda _: "no"))


def shared_over_surfaces(*, rotate: bool) -> Columns:
    rng = np.random.default_rng(9)
    lines: list[tuple[Any, ...]] = []
    for block in range(6):
        surfaces = ["snow", "ice", "sand"]
        turn = block % 3 if rotate else 0
        for surface in surfaces[turn:] + surfaces[:turn]:
            for launch in range(4):
                name = ("bare", "wax", "wax", "bare")[launch]
                lines.append((float(rng.normal(5, 0.3)), name, surface, block, f"{block}{name}", len(lines)))
    return rows("response treatment surface block preparation order", lines)


def test_surface_tied_to_coat_age() -> None:
    assert "surface-tied-to-coat-age" in codes(shared_over_surfaces(rotate=False), shared_preparations=True)
    assert "surface-tied-to-coat-age" not in codes(
        shared_over_surfaces(rotate=True), shared_preparations=True
    )
    assert "surface-tied-to-coat-age" not in codes(shared_over_surfaces(rotate=False))


def test_carry_over() -> None:
    table = paired(6, 2)  # items swap treatments, so the rubbed one is bare again in a later round
    assert codes(table, stays=("wax",))["carry-over"] == "limits"
    assert "carry-over" not in codes(table)
    first_bare = sorted(range(len(table["response"])), key=lambda i: table["treatment"][i])
    order = [first_bare.index(i) for i in range(len(first_bare))]
    assert "carry-over" not in codes({**table, "order": order}, stays=("wax",))


def test_one_direction() -> None:
    table = with_column(paired(5, 4), "direction", lambda i: "out" if i // 2 % 2 else "back")
    assert "one-direction" not in codes(table)
    name = table["preparation"][0]
    lacking = {
        **table,
        "direction": [
            "out" if p == name else d for p, d in zip(table["preparation"], table["direction"], strict=True)
        ],
    }
    assert codes(lacking)["one-direction"] == "warns"


def test_unequal_launches() -> None:
    table = paired(5, 2)
    assert "unequal-launches" not in codes(table)
    assert codes(first_rows(table, 19))["unequal-launches"] == "fine"


def test_scale_chosen() -> None:
    table = paired(5, 2)
    assert codes(table)["scale-chosen"] == "fine"
    assert "scale-chosen" not in codes(table, scale="ratio")
    assert "scale-chosen" not in codes(table, matters="5 %")


def test_what_was_noticed_on_the_way_in() -> None:
    table = paired(5, 2)
    alike = {**table, "treatment": ["Wax" if i == 2 else t for i, t in enumerate(table["treatment"])]}
    assert codes(alike)["names-alike"] == "warns"
    reused = {**table, "preparation": [name[-1] for name in table["preparation"]]}
    assert codes(reused)["label-reused"] == "fine"
    assert not {"names-alike", "label-reused"} & set(codes(table))
    both = with_column(
        with_column(table, "void", lambda i: "x" if i == 1 else ""), "at_least", lambda i: i == 1
    )
    assert codes(both)["void-and-at-least"] == "fine"
    odd = with_column(table, "void", lambda i: "none" if i == 1 else "")
    assert "flag-read-as-yes" in codes(odd)


def test_days_follow_treatment() -> None:
    table = paired(5, 2)
    confounded = {**table, "session": [f"day of {name}" for name in table["treatment"]]}
    assert codes(confounded)["days-follow-treatment"] == "limits"
    assert "days-follow-treatment" not in codes({**table, "session": [f"day {b}" for b in table["block"]]})
    partly = {
        **table,
        "session": [
            f"{b} {name if i < 4 or i in (4, 5) else ''}"
            for i, (b, name) in enumerate(zip(table["block"], table["treatment"], strict=True))
        ],
    }
    assert codes(partly)["days-follow-treatment"] == "warns"


def test_order_repeated() -> None:
    table = paired(5, 2)
    assert "order-repeated" not in codes(table)
    twice = {**table, "order": [0, *table["order"][1:-1], 3]}
    assert codes(twice)["order-repeated"] == "warns"


def test_few_preparations() -> None:
    assert codes(paired(4, 2))["few-preparations"] == "limits"  # 4 rounds, items out: 2 degrees of freedom
    assert codes(paired(5, 2))["few-preparations"] == "warns"
    assert "few-preparations" not in codes(paired(9, 2))


def test_no_scatter() -> None:
    lines = [(3.0 + b + (t == "wax"), t, b) for b in range(4) for t in ("bare", "wax")]
    table = rows("response treatment block", lines)
    assert codes(table, scale="difference")["no-scatter"] == "limits"
    changed = {**table, "response": [3.25, *table["response"][1:]]}
    assert "no-scatter" not in codes(changed, scale="difference")


def test_these_items_only() -> None:
    table = paired(8, 2)
    assert codes(table)["these-items-only"] == "warns"
    assert "these-items-only" not in codes(without(table, "item"))


def test_no_two_way_value() -> None:
    both = with_column(paired(5, 4), "direction", lambda i: "out" if i // 2 % 2 else "back")
    assert "no-two-way-value" not in codes(both, scale="difference")
    below = {
        **both,
        "response": [
            y - 20 if p == both["preparation"][0] else y
            for y, p in zip(both["response"], both["preparation"], strict=True)
        ],
    }
    found = codes(below, scale="difference")
    assert found["no-two-way-value"] == "warns" and "one-direction" not in found


def test_many_launches_beyond_the_lane_limit_the_answer() -> None:
    table = paired(5, 2)
    assert codes(with_column(table, "at_least", lambda i: i < 2))["at-least"] == "warns"
    assert codes(with_column(table, "at_least", lambda i: i < 3))["at-least"] == "limits"


ASKED_OF_STUDIES = {"check-not-possible"}
"""Codes that only a study can raise; tested in tests/answer/test_looks.py."""

READ_FROM_FILES = {"decimal-comma", "encoding-by-mark", "sheet-chosen"}
"""Codes that only a file can raise; tested where files are read."""


def test_every_code_of_the_catalogue_is_tested_here_or_with_the_logs_that_alone_can_set_it_off() -> None:
    tests = (Path(__file__), ROOT / "tests" / "readings" / "test_from_log.py")
    text = "".join(path.read_text(encoding="utf-8") for path in tests)
    untested = {code for code in AUDIT if f'"{code}"' not in text}
    assert not untested


def test_gravest_entries_come_first() -> None:
    answer = evenglide.judge(
        without(paired(5, 3), "preparation", "block"), response="response", treatment="treatment"
    )
    order = [("limits", "warns", "fine").index(entry.severity) for entry in answer.audit]
    assert order == sorted(order)


def test_take_in_keeps_the_columns_it_was_given() -> None:
    assert take_in(paired(2, 2)).launches.order is not None
