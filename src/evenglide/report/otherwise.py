"""Would another way of reckoning change the answer? One small lane for each, decided in advance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenglide.answer.results import RobustnessLine
from evenglide.report.findings import Finding
from evenglide.report.lanes import INSET, SMALL_WIDTH, Lane, shared_track, shown_interval
from evenglide.report.pen import Ruler
from evenglide.report.wording import Effects
from evenglide.show.numbers import listed, spelled

VERDICTS = {
    "higher": "goes {more}",
    "lower": "goes {less}",
    "alike": "no difference that matters",
    "open": "too close to call",
}
NOT_RECKONED = "–"
NAMED_AT_MOST = 3
"""Lines that change the answer, told one by one."""

PLAIN_VERDICTS = VERDICTS | {"higher": "{more}", "lower": "{less}"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Otherwise:
    """One line of the table: another decision, and what it gives.

    Parameters
    ----------
    text : str
        The decision, in words.
    lane : Lane or None
        None where the line is on another scale than the answer, or has no estimate.
    fits : str
        Its interval in words.
    verdict : str
        Its verdict in words; a dash where it has none.
    changes : bool
        It would change the verdict.
    """

    text: str
    lane: Lane | None
    fits: str
    verdict: str
    changes: bool


def otherwise(finding: Finding) -> tuple[Otherwise, ...]:
    """Tell every line of a finding's robustness table."""
    return tuple(_line(finding, line) for line in finding.contrast.robustness)


def otherwise_finding(lines: Sequence[Otherwise]) -> str:
    """Tell in one sentence whether any line would change the verdict, and which."""
    reckoned = [line for line in lines if line.verdict != NOT_RECKONED]
    changing = [line for line in reckoned if line.changes]
    if not reckoned:
        return "No other way of reckoning was possible."
    if not changing:
        return f"None of {spelled(len(reckoned))} other ways of reckoning would change the answer."
    some = f"{spelled(len(changing)).capitalize()} of {spelled(len(reckoned))}"
    told = [f"{first_lower(line.text)} ({line.verdict})" for line in changing[:NAMED_AT_MOST]]
    more = [f"{len(changing) - NAMED_AT_MOST} more"] if len(changing) > NAMED_AT_MOST else []
    return f"{some} other ways of reckoning would change it: {listed([*told, *more])}."


def first_lower(text: str) -> str:
    """Begin a text small, to stand inside a sentence."""
    return text[:1].lower() + text[1:]


def lines_track(lines: Sequence[Otherwise], *, percent: bool) -> Ruler:
    """Choose one range for the small lanes of a table."""
    lanes = [line.lane for line in lines if line.lane is not None]
    return shared_track(lanes, percent=percent, left=INSET, right=SMALL_WIDTH - INSET)


def _line(finding: Finding, line: RobustnessLine) -> Otherwise:
    own = Effects(
        scale=line.scale,
        unit=finding.answer.response.unit,
        wording=finding.wording,
        margin=finding.surface.margin if line.scale == finding.answer.scale else None,
    )
    fits = "not reckoned"
    if line.interval is not None:
        fits = own.range(line.interval)
    elif line.estimate is not None:
        fits = f"{own.one(line.estimate, decimals=own.decimals(line.estimate, 0.0))}, estimate only"
    return Otherwise(
        text=line.text,
        lane=_lane(own, line) if line.scale == finding.answer.scale and line.estimate is not None else None,
        fits=fits,
        verdict=_verdict(finding, line),
        changes=bool(line.changes),
    )


def _lane(effects: Effects, line: RobustnessLine) -> Lane:
    assert line.estimate is not None
    kind = {"higher": "farther", "lower": "shorter", "alike": "alike"}.get(line.verdict or "open", "soft")
    return Lane(
        estimate=effects.shown(line.estimate),
        bar=shown_interval(effects, line.interval),
        margin=effects.shown_margin,
        kind=kind,
        settled=line.verdict not in (None, "open"),
    )


def _verdict(finding: Finding, line: RobustnessLine) -> str:
    if line.verdict is None:
        return NOT_RECKONED
    wording = finding.wording
    words = VERDICTS if wording.distance else PLAIN_VERDICTS
    return words[line.verdict].format(more=wording.more, less=wording.less)
