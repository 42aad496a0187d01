"""The numbers of an answer once more, from nothing but the numbers it rests on.

Written with the tails of scipy.stats and with loops, so that it shares no code with what it checks.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence
from typing import Any

import pytest
from scipy import stats

Document = dict[str, Any]
NINE_DIGITS = 1e-9
TINY = 1e-290
MET = 1e-12
DOUBLE_DIGITS = 1e-15
LARGEST_EXPONENT = math.log(sys.float_info.max)


def near(value: float) -> Any:
    """To nine digits, and to the smallest numbers that tails can be told apart at."""
    return pytest.approx(value, rel=NINE_DIGITS, abs=TINY)


def check_numbers(document: Document) -> None:
    """Recompute claims, families, intervals, verdicts, sizes and lines of a whole answer."""
    contrasts = [contrast for surface in document["surfaces"] for contrast in surface["contrasts"]]
    margins = [surface["margin"] for surface in document["surfaces"] for _ in surface["contrasts"]]
    for contrast, margin in zip(contrasts, margins, strict=True):
        check_claims(contrast, margin)
        check_intervals(contrast, margin, level=document["level"])
        check_companions(contrast, level=document["level"])
        check_randomisation(contrast)
    for family in families(document):
        for kind in ("p_difference", "p_alike", "p_matters"):
            check_adjusted(family, kind, adjust=document["adjust"])
        for at in range(len(family)):
            check_verdict(family, at, document)
            check_lines(family, at, document)
    for surface in document["surfaces"]:
        check_omnibus(surface)
    for compared in document["between_surfaces"]:
        check_compared(compared, level=document["level"])


def families(document: Document) -> list[list[Document]]:
    """Contrasts that share the error rate: those of the main surface, and all others."""
    main: list[Document] = []
    others: list[Document] = []
    for surface in document["surfaces"]:
        apart = document["main"] is not None and surface["surface"] == document["main"]
        (main if apart else others).extend(surface["contrasts"])
    return [family for family in (main, others) if family]


def tail(t: float, df: float) -> float:
    """Upper tail of Student's t."""
    return float(stats.t.sf(t, df))


def check_claims(contrast: Document, margin: list[float] | None) -> None:
    theta, se, df = contrast["estimate"], contrast["se"], contrast["df"]
    if se is None:
        assert contrast["p_difference"] is contrast["p_alike"] is contrast["p_matters"] is None
        return
    assert se > 0 and df > 0
    assert contrast["p_difference"] == near(2 * tail(abs(theta) / se, df))
    if margin is None:
        assert contrast["p_alike"] is contrast["p_matters"] is None
        return
    low, high = margin
    assert low < 0 < high and low == pytest.approx(-high, rel=1e-15)
    assert contrast["p_alike"] == near(max(tail((theta - low) / se, df), tail((high - theta) / se, df)))
    beyond = min(tail((theta - high) / se, df), tail((low - theta) / se, df))
    assert contrast["p_matters"] == near(min(1.0, 2 * beyond))


def interval(estimate: float, se: float, df: float, tail_area: float) -> list[float]:
    half = float(stats.t.isf(tail_area, df)) * se
    return [estimate - half, estimate + half]


def check_interval(found: Any, parts: Document, tail_area: float) -> None:
    if parts["se"] is None:
        assert found is None
        return
    expected = interval(parts["estimate"], parts["se"], parts["df"], tail_area)
    assert found == pytest.approx(expected, rel=NINE_DIGITS, abs=NINE_DIGITS * parts["se"])


def check_intervals(contrast: Document, margin: list[float] | None, *, level: float) -> None:
    check_interval(contrast["interval"], contrast, level / 2)
    if margin is None:
        assert contrast["interval_alike"] is None
    else:
        check_interval(contrast["interval_alike"], contrast, level)
    if contrast["ratio"] is not None:
        assert contrast["ratio"] == near(math.exp(contrast["estimate"]))
    if contrast["ratio_interval"] is not None:
        # A ratio beyond what a double can hold is an unbounded end.
        for found, end in zip(contrast["ratio_interval"], contrast["interval"], strict=True):
            if end > LARGEST_EXPONENT:
                assert found is None
            else:
                assert found == pytest.approx(math.exp(end), rel=NINE_DIGITS)


def check_companions(contrast: Document, *, level: float) -> None:
    own, naive = contrast["own_pair"], contrast["naive"]
    if own is not None:
        check_interval(own["interval"], own, level / 2)
        expected = None if own["se"] is None else 2 * tail(abs(own["estimate"]) / own["se"], own["df"])
        assert own["p"] == (None if expected is None else near(expected))
    if naive is not None:
        check_interval(naive["interval"], naive, level / 2)
        if naive["too_narrow_by"] is not None:
            widths = [end - start for start, end in (contrast["interval"], naive["interval"])]
            assert naive["too_narrow_by"] == pytest.approx(widths[0] / widths[1], rel=1e-6)


def check_randomisation(contrast: Document) -> None:
    p, orders, least = contrast["p_randomisation"], contrast["assignments"], contrast["smallest_p"]
    if orders is not None:
        assert 1 <= orders <= 2**53
        assert least * orders == pytest.approx(round(least * orders)) and round(least * orders) in (1, 2)
    elif contrast["log10_assignments"] is not None:
        assert contrast["log10_assignments"] > math.log10(2**53)
    if p is not None:
        assert least - MET <= p <= 1
        exact = contrast["randomisation_method"] == "exact"
        among = orders if exact else contrast["randomisation_draws"] + 1
        assert exact or contrast["randomisation_error"] == pytest.approx(math.sqrt(p * (1 - p) / among))
        assert among is None or p * among == pytest.approx(round(p * among), rel=1e-12, abs=1e-6)


def adjusted_by_hand(p: Sequence[float | None], adjust: str) -> list[float]:
    """Holm's step-down or Bonferroni, written as they are told; a missing p counts as 1."""
    known = [1.0 if value is None else value for value in p]
    m = len(known)
    if adjust == "none":
        return known
    if adjust == "both":
        return [min(1.0, m * value) for value in known]
    out, running = [0.0] * m, 0.0
    for rank, at in enumerate(sorted(range(m), key=lambda index: known[index])):
        running = max(running, min(1.0, (m - rank) * known[at]))
        out[at] = running
    return out


def check_adjusted(contrasts: list[Document], kind: str, *, adjust: str) -> None:
    expected = adjusted_by_hand([contrast[kind] for contrast in contrasts], adjust)
    for contrast, value in zip(contrasts, expected, strict=True):
        found = contrast[f"{kind}_adjusted"]
        assert (found is None) == (contrast[kind] is None)
        assert found is None or found == near(value)


def verdict(difference: float | None, alike: float | None, estimate: float | None, level: float) -> str:
    if difference is not None and estimate is not None and difference <= level + MET:
        return "higher" if estimate > 0 else "lower"
    return "alike" if alike is not None and alike <= level + MET else "open"


def check_verdict(contrasts: list[Document], at: int, document: Document) -> None:
    contrast, level = contrasts[at], document["level"]
    difference, alike = contrast["p_difference_adjusted"], contrast["p_alike_adjusted"]
    assert contrast["verdict"] == verdict(difference, alike, contrast["estimate"], level)
    if contrast["size"] is not None:
        matters = contrast["p_matters_adjusted"]
        small = alike is not None and alike <= level + MET
        large = matters is not None and matters <= level + MET
        assert contrast["size"] == ("small" if small else "matters" if large else "unsettled")
    if contrast["se"] is None:
        assert contrast["interval_adjusted"] is None
        return
    share = interval_share([each["p_difference"] for each in contrasts], at, document)
    check_interval(contrast["interval_adjusted"], contrast, level / share / 2)
    low, high = contrast["interval_adjusted"]
    if abs(difference - level) > NINE_DIGITS:
        assert (not low <= 0 <= high) == (difference <= level)


def interval_share(p: Sequence[float | None], at: int, document: Document) -> int:
    """Return k, the confidence of the interval of the verdict being 1 - level/k."""
    m, adjust = len(p), document["adjust"]
    if adjust == "none":
        return 1
    mine = p[at]
    if adjust == "both" or mine is None or adjusted_by_hand(p, adjust)[at] > document["level"] + MET:
        return m
    return m - sum(value is not None and value < mine for value in p)


def check_lines(contrasts: list[Document], at: int, document: Document) -> None:
    """Verdict of each robustness line, all other contrasts staying as they are."""
    for line in contrasts[at]["robustness"]:
        reached = None
        if line["p_difference"] is not None:
            adjusted = []
            for kind in ("p_difference", "p_alike"):
                p = [each[kind] for each in contrasts]
                p[at] = line[kind]
                adjusted.append(adjusted_by_hand(p, document["adjust"])[at])
            reached = verdict(*adjusted, line["estimate"], document["level"])
        assert line["verdict"] == reached
        assert line["changes"] == (None if reached is None else reached != contrasts[at]["verdict"])


def check_omnibus(surface: Document) -> None:
    omnibus = surface["omnibus"]
    if omnibus is None:
        return
    assert omnibus["p"] == near(float(stats.f.sf(omnibus["f"], *omnibus["df"])))
    only = surface["contrasts"][0]
    if len(surface["contrasts"]) == 1 and only["se"] is not None:
        assert omnibus["df"] == [1, only["df"]]
        largest = max(abs(facts["mean"] or 0.0) for facts in surface["treatments"])
        lost = DOUBLE_DIGITS * largest / (abs(only["estimate"]) + DOUBLE_DIGITS * largest)
        squared = (only["estimate"] / only["se"]) ** 2
        # A small difference of large readings keeps the digits that they leave it.
        assert omnibus["f"] == pytest.approx(squared, rel=NINE_DIGITS + 4 * lost)


def check_compared(compared: Document, *, level: float) -> None:
    if compared["f"] is not None:
        assert compared["p"] == near(float(stats.f.sf(compared["f"], *compared["df"])))
    for pair in compared["pairs"]:
        check_interval(pair["interval"], pair, level / 2)
        if pair["se"] is not None:
            assert pair["p"] == near(2 * tail(abs(pair["estimate"]) / pair["se"], pair["df"]))
