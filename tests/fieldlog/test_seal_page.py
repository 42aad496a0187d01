"""The page about the seal has a line for every departure, with its weight, and no other line."""

from __future__ import annotations

import re

from evenglide.answer.draw import LEFT
from evenglide.answer.study import UNPROVEN
from evenglide.show.departures import DEPARTURES
from tests.house.tree import ROOT

PAGE = (ROOT / "docs" / "seal.md").read_text(encoding="utf-8")
LINE = re.compile(r"^\| `([a-z-]+)` \| (limits|warns|fine) \| ([^|]+) \| ([^|]+) \|$", re.MULTILINE)


def test_every_departure_has_one_line_with_its_weight() -> None:
    lines = LINE.findall(PAGE)
    assert {code: weight for code, weight, _, _ in lines} == {
        code: entry.severity for code, entry in DEPARTURES.items()
    }
    assert len(lines) == len(DEPARTURES)


def test_what_costs_the_record_of_the_order_or_the_draw_is_named() -> None:
    told = PAGE.partition("Where nothing shows any more")[2].partition("\n\n")[0]
    sentences = [set(re.findall(r"`([a-z-]+)`", part)) for part in told.split("Where gear")]
    assert sentences == [UNPROVEN | {"no-record-of-order"}, LEFT | {"order-changed"}]
