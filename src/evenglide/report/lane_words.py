"""The words around the lanes: what lies at their ends and edges, and the key to bar, flag and strip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenglide.report.findings import Finding
from evenglide.report.lanes import end_labels
from evenglide.report.pen import Ruler
from evenglide.show.numbers import plain, with_unit

Edge = tuple[str, str]
"""A text and where it stands along the lane, as a share of its width in percent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneScale:
    """Words along the lane.

    Parameters
    ----------
    low, high : str
        At both ends.
    same : (str, str)
        At the dotted line.
    edges : tuple of (str, str)
        At both edges of what does not matter; empty where surfaces differ in them.
    """

    low: str
    high: str
    same: Edge
    edges: tuple[Edge, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneKey:
    """What strip, flag and bars mean; "" for what is not drawn."""

    strip: str
    flag: str
    settled: str
    open: str


def lane_scale(findings: Sequence[Finding], track: Ruler) -> LaneScale:
    """Write the scale that all lanes of a page share."""
    effects = findings[0].effects
    low, high = end_labels(track, effects)
    edges: tuple[Edge, ...] = ()
    margin = _shared_margin(findings)
    if margin is not None:
        shown, (below, above) = margin.effects.shown_margin, margin.effects.edge_words()
        assert shown is not None
        # Both are counted from their own end, so that their texts lead away from the strip.
        edges = ((below, _percent(1 - track.share(shown[0]))), (above, _percent(track.share(shown[1]))))
    return LaneScale(low=low, high=high, same=(effects.wording.same, _percent(track.share(0.0))), edges=edges)


def lane_key(findings: Sequence[Finding]) -> LaneKey:
    """Explain strip, flag and bars in plain words, with how sure a bar is."""
    margin = _shared_margin(findings)
    strip = f"too small to matter: {margin.effects.band_words()}" if margin is not None else ""
    if margin is None and any(finding.surface.margin is not None for finding in findings):
        strip = "too small to matter"
    drawn = [finding for finding in findings if finding.bar is not None]
    return LaneKey(
        strip=strip,
        flag="best single estimate" if any(one.contrast.estimate is not None for one in findings) else "",
        settled=f"what still fits, {_sure(drawn)}" if drawn else "",
        open="too close to call" if any(not finding.is_settled for finding in drawn) else "",
    )


def _sure(findings: Sequence[Finding]) -> str:
    """Say how sure a bar is: at least so much where several share the error rate, less where alike."""
    level = findings[0].answer.level
    small = [finding.contrast.size == "small" for finding in findings]
    least = "at least " if any(finding.sharing for finding in findings) else ""
    alike = with_unit(plain(100 * (1 - 2 * level), digits=4), "%")
    if all(small):
        return f"{alike} sure"
    told = f"{least}{with_unit(plain(100 * (1 - level), digits=4), '%')} sure"
    return f"{told} ({alike} where too small to matter)" if any(small) else told


def _shared_margin(findings: Sequence[Finding]) -> Finding | None:
    """Find the one difference that matters of all surfaces; None where they differ or have none."""
    margins = {finding.surface.margin for finding in findings}
    return findings[0] if len(margins) == 1 and findings[0].surface.margin is not None else None


def _percent(share: float) -> str:
    return f"{100 * share:.2f}%"
