"""Would another way of reckoning change the answer? One small lane for each, decided in advance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from evenglide.answer.results import RobustnessLine
from evenglide.report.changing import verdict_words
from evenglide.report.findings import Finding
from evenglide.report.lanes import INSET, SMALL_WIDTH, Lane, shared_track, shown_interval
from evenglide.report.pen import Ruler
from evenglide.report.wording import Effects
from evenglide.show.numbers import listed, plain, spelled, with_unit

AS_JUDGED = "As judged"
NOT_RECKONED = "–"
NAMED_AT_MOST = 3
"""Lines that change the answer, told one by one."""


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


def as_judged(finding: Finding) -> Otherwise:
    """Tell the answer itself as a line of that table: for this contrast alone, at the same yardstick."""
    contrast = finding.contrast
    line = RobustnessLine(
        code="as-judged",
        text=AS_JUDGED,
        scale=finding.answer.scale,
        estimate=contrast.estimate,
        interval=contrast.interval,
        p_difference=contrast.p_difference,
        p_alike=contrast.p_alike,
        verdict=contrast.verdict,
        changes=False,
    )
    return _line(finding, line)


def merged(lines: Sequence[Otherwise]) -> tuple[Otherwise, ...]:
    """Put lines that give the very same into one, all their decisions named."""
    alike: dict[object, list[Otherwise]] = {}
    for line in lines:
        alike.setdefault(replace(line, text=""), []).append(line)
    return tuple(replace(own[0], text="; ".join(line.text for line in own)) for own in alike.values())


def yardstick(findings: Sequence[Finding]) -> str:
    """Say how the ranges of these tables differ from the bars of the first screen, and what matters."""
    first = findings[0]
    sure = with_unit(plain(100 * (1 - first.answer.level), digits=4), "%")
    told = [f"Each range here is that of one line alone, {sure} sure."]
    sharing = next((finding.sharing for finding in findings if finding.sharing), None)
    if sharing:
        told.append(f"The bars at the top may be others, because there {sharing} share the error rate.")
    bands = {finding.effects.edges_words() for finding in findings if finding.surface.margin is not None}
    if len(bands) == 1:
        told.append(f"It matters from {bands.pop()} on.")
    told.append("The answer is the one that would stand at the top.")
    return " ".join(told)


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
    return verdict_words(line.verdict, finding.wording)
