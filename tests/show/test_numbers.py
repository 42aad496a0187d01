from __future__ import annotations

import math
import random

import pytest

from evenglide.show import numbers
from evenglide.show.numbers import MINUS, NARROW_NO_BREAK, NO_BREAK


@pytest.mark.parametrize(
    ("uncertainty", "decimals"),
    [
        (0.02, 3),
        (0.0299, 2),  # reads 0.030: its leading digit is 3
        (0.031, 2),
        (0.099, 2),
        (0.0996, 2),  # reads 0.10: two digits
        (1.4, 1),
        (5.0, 0),
        (24.0, 0),
        (36.0, -1),
        (1.0, 1),
        (9.99e-7, 7),
    ],
)
def test_decimals_follow_the_leading_digit_of_the_uncertainty(uncertainty: float, decimals: int) -> None:
    assert numbers.decimals_for(uncertainty) == decimals


def test_rounding_moves_an_uncertainty_by_less_than_a_fifth() -> None:
    rng = random.Random(1)
    for _ in range(2000):
        uncertainty = 10 ** rng.uniform(-6, 4)
        kept = round(uncertainty, numbers.decimals_for(uncertainty))
        assert abs(kept - uncertainty) / uncertainty < 0.2


@pytest.mark.parametrize("uncertainty", [0.0, -1.0, math.inf, math.nan])
def test_no_uncertainty_no_rule(uncertainty: float) -> None:
    with pytest.raises(ValueError, match="positive and finite"):
        numbers.decimals_for(uncertainty)


def test_minus_is_a_minus_and_nought_has_none() -> None:
    assert numbers.fixed(-3.25, 1) == f"{MINUS}3.2"
    assert numbers.fixed(-0.04, 1) == "0.0"
    assert "-" not in numbers.fixed(-12345.6, 1)


def test_thousands_are_grouped_from_ten_thousand_on() -> None:
    assert numbers.whole(9999) == "9999"
    assert numbers.whole(10_000) == f"10{NARROW_NO_BREAK}000"
    assert numbers.fixed(-1234567.5, 1) == f"{MINUS}1{NARROW_NO_BREAK}234{NARROW_NO_BREAK}567.5"


def test_a_number_is_never_without_its_unit() -> None:
    assert numbers.rounded(6.4321, 0.08, unit="m") == f"6.43{NO_BREAK}m"
    assert numbers.rounded(6.4321, None, unit="m") == f"6.43{NO_BREAK}m"
    assert numbers.rounded(6.4321, 0.0, unit=None) == f"6.43{NO_BREAK}units"
    assert numbers.span(4.2, 15.3, unit="%", decimals=0) == f"4 to 15{NO_BREAK}%"
    assert numbers.span(4.2, 4.3, unit="%", decimals=0) == f"4{NO_BREAK}%"
    assert numbers.count(1, "preparation") == f"1{NO_BREAK}preparation"
    assert numbers.count(6, "preparation") == f"6{NO_BREAK}preparations"
    assert numbers.count(2, "launch", "launches") == f"2{NO_BREAK}launches"


def test_percent_changes() -> None:
    assert numbers.percent_change(math.log(1.05)) == pytest.approx(5.0, abs=1e-12)
    assert numbers.percent_change(-math.log(1.05)) == pytest.approx(-100 / 21, abs=1e-12)
    # The coefficient of variation of a lognormal, from its moments: E = exp(s2/2), Var = (exp(s2) - 1) E2.
    assert numbers.percent_scatter(0.3) == pytest.approx(100 * math.sqrt(math.exp(0.09) - 1))
    assert numbers.percent_scatter(0.03) == pytest.approx(3.0, abs=0.01)


def test_a_bound_does_not_read_like_what_it_is_not() -> None:
    assert numbers.decimals_that_tell_apart([4.8, 15.0], [5.0], start=0) == 1
    assert numbers.decimals_that_tell_apart([4.96], [5.0], start=0) == 2
    assert numbers.decimals_that_tell_apart([5.0], [5.0], start=0) == 0
    assert numbers.decimals_that_tell_apart([0.04], [0.0], start=0) == 2
    assert numbers.decimals_that_tell_apart([5.0 + 1e-12], [5.0], start=0) == numbers.MOST_DECIMALS


@pytest.mark.parametrize(
    ("p", "written"),
    [
        (0.0499, "0.050"),
        (0.05, "0.050"),
        (0.1, "0.100"),
        (0.00012, "0.00012"),
        (0.99999, f">{NO_BREAK}0.999"),
    ],
)
def test_p_values(p: float, written: str) -> None:
    assert numbers.p_value(p) == written


def test_no_p_value_reads_as_nought() -> None:
    assert all(numbers.p_value(10.0**-k).strip("0.") for k in range(20))


@pytest.mark.parametrize(
    ("seconds", "written"),
    [
        (0, "0 s"),
        (45.2, "45 s"),
        (59.7, "1 min"),
        (1080, "18 min"),
        (7500, "2 h 5 min"),
        (3599, "1 h"),
        (7200, "2 h"),
    ],
)
def test_durations(seconds: float, written: str) -> None:
    assert numbers.duration(seconds).replace(NO_BREAK, " ") == written


def test_lists_and_spelled_numbers() -> None:
    assert numbers.listed([]) == ""
    assert numbers.listed(["a"]) == "a"
    assert numbers.listed(["a", "b"]) == "a and b"
    assert numbers.listed(["a", "b", "c"], last="or") == "a, b or c"
    assert [numbers.spelled(n) for n in (0, 4, 12, 13)] == ["no", "four", "twelve", "13"]


def test_ticks_are_round_and_inside() -> None:
    rng = random.Random(2)
    for _ in range(500):
        low = rng.uniform(-50, 50)
        high = low + 10 ** rng.uniform(-3, 3)
        ticks = numbers.round_ticks(low, high, about=5)
        assert 1 <= len(ticks) <= 6
        assert all(low - 1e-6 <= tick <= high + 1e-6 for tick in ticks)
