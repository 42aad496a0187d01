from __future__ import annotations

import math
import random
import re

import pytest

from evenglide.report.wording import DISTANCE, NUMBER, Effects, choose_wording
from evenglide.show.numbers import NO_BREAK

RATIO = Effects(scale="ratio", unit="m", wording=DISTANCE, margin=(-math.log(1.05), math.log(1.05)))
METRES = Effects(scale="difference", unit="m", wording=DISTANCE, margin=(-0.25, 0.25))
UNKNOWN = Effects(scale="difference", unit=None, wording=NUMBER, margin=None)


def told(text: str) -> str:
    return text.replace(NO_BREAK, " ")


@pytest.mark.parametrize(
    ("unit", "mark_given", "distance"),
    [
        ("m", False, True),
        ("Feet", False, True),
        ("s", False, False),
        (None, False, False),
        (None, True, True),
    ],
)
def test_farther_only_for_a_length_or_a_mark(unit: str | None, mark_given: bool, distance: bool) -> None:
    wording = choose_wording(unit, mark_given=mark_given)
    assert wording.distance is distance
    assert wording.more == ("farther" if distance else "higher")


@pytest.mark.parametrize(
    ("effects", "low", "high", "expected"),
    [
        (RATIO, math.log(1.04), math.log(1.15), "4 to 15 % farther"),
        (RATIO, math.log(0.83), math.log(0.94), "6 to 17 % shorter"),
        (RATIO, math.log(0.94), math.log(1.12), "6 % shorter to 12 % farther"),
        (RATIO, math.log(0.98), math.log(1.0496), "2 % shorter to 4.96 % farther"),
        (RATIO, math.log(1.0004), math.log(1.12), "0.04 to 12 % farther"),
        (METRES, 0.104, 0.41, "0.10 to 0.41 m farther"),
        (METRES, -0.3, -0.26, "0.260 to 0.300 m shorter"),
        (UNKNOWN, -0.42, 1.3, "0.4 units lower to 1.3 units higher"),
        (UNKNOWN, 0.0, 1.3, "0 to 1.3 units higher"),
    ],
)
def test_ranges(effects: Effects, low: float, high: float, expected: str) -> None:
    assert told(effects.range((low, high))).replace("0.0 to", "0 to") == expected


def test_open_ends() -> None:
    assert told(RATIO.range((math.log(1.1), None))).endswith("farther or anything more")
    assert told(RATIO.range((None, math.log(1.1)))).endswith("farther or anything less")
    assert RATIO.range((None, None)) == "anything"


def test_a_bound_beyond_the_lower_edge_does_not_contradict_the_stated_margin() -> None:
    """A ratio of 1.05 is 5 % upwards and 4.8 % downwards; 4.9 % shorter is beyond it."""
    assert told(RATIO.margin_words()) == "5 %"
    assert told(RATIO.margin_words_on(math.log(1 - 0.049))) == "4.8 % shorter"
    assert told(RATIO.margin_words_on(math.log(1 - 0.049), both=True)) == "4.8 % shorter or 5 % farther"
    assert told(RATIO.margin_words_on(math.log(0.96), both=True)) == "4.8 % shorter or 5 % farther"
    assert told(RATIO.margin_words_on(math.log(0.97), both=True)) == "5 %"  # far inside: the stated one
    assert told(RATIO.margin_words_on(math.log(0.94))) == "5 %"
    assert told(RATIO.margin_words_on(math.log(1.051))) == "5 %"


def test_both_edges_of_what_does_not_matter_are_written() -> None:
    ten = Effects(scale="ratio", unit="m", wording=DISTANCE, margin=(-math.log(1.1), math.log(1.1)))
    assert told(ten.band_words()) == "9.1 % shorter to 10 % farther"
    assert told(ten.edges_words()) == "9.1 % shorter or 10 % farther"
    assert told(METRES.band_words()) == "0.25 m shorter to 0.25 m farther"
    eighth = Effects(scale="difference", unit="m", wording=DISTANCE, margin=(-0.125, 0.125))
    assert told(eighth.band_words()) == "0.125 m shorter to 0.125 m farther"
    assert told(eighth.margin_words_on(-0.12, both=True)) == "0.125 m"


def test_no_bound_reads_as_the_margin_or_nought_unless_it_is() -> None:
    rng = random.Random(3)
    for _ in range(2000):
        low = rng.choice([-1, 1]) * math.log1p(10 ** rng.uniform(-4, -0.7))
        high = low + 10 ** rng.uniform(-3.5, 0)
        numbers = [float(number) for number in re.findall(r"\d+(?:\.\d+)?", RATIO.range((low, high)))]
        assert 5.0 not in numbers
        assert 0.0 not in numbers


def test_more_is_up_and_less_is_down() -> None:
    assert RATIO.side(0.1) == "farther"
    assert UNKNOWN.side(-0.1) == "lower"
    assert UNKNOWN.one(0.0, decimals=2) == "same value"
