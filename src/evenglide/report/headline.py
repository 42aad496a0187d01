"""The whole answer in one line, and the question it answers."""

from __future__ import annotations

from collections.abc import Sequence

from evenglide.answer.results import Answer
from evenglide.report.findings import Finding, findings_of
from evenglide.report.wording import Wording
from evenglide.show.numbers import listed, spelled

NAMED_AT_MOST = 4
"""Findings named one by one; more are counted."""


def question(answer: Answer, wording: Wording) -> str:
    """Ask what the answer answers, for a report that was given no title."""
    treatments = list(dict.fromkeys(finding.contrast.treatment for finding in findings_of(answer, wording)))
    reference = next((facts.treatment for facts in answer.surfaces[0].treatments if facts.reference), "")
    names = listed(treatments, last="or")
    verb = "go farther" if wording.distance else "give more"
    return f"Does {names} {verb} than {reference}?"


def headline(answer: Answer, wording: Wording) -> str:
    """Tell the whole answer in one line: named where few, counted where many."""
    findings = list(findings_of(answer, wording))
    groups = _grouped(findings)
    if len(findings) == 1:
        return f"{first_upper(findings[0].contrast.treatment)} {_alone(findings[0])}."
    if all(finding.surface.surface is None for finding in findings):
        return f"{first_upper(_by_outcome(groups))}."
    tell = _named if len(findings) <= NAMED_AT_MOST else _counted
    by_treatment: dict[str, list[Finding]] = {}
    for finding in findings:
        by_treatment.setdefault(finding.contrast.treatment, []).append(finding)
    if len(by_treatment) == 1 and all(finding.surface.surface is not None for finding in findings):
        return f"{first_upper(tell(groups, len(findings)))}."
    parts = [f"{name}: {tell(_grouped(own), len(own))}" for name, own in by_treatment.items()]
    return f"{first_upper('; '.join(parts))}."


def _by_outcome(groups: dict[str, list[Finding]]) -> str:
    """Name treatments under what they did, where no surface tells findings apart."""
    parts = []
    for outcome, own in groups.items():
        than = f" than {own[0].contrast.reference}" if own[0].contrast.verdict in ("higher", "lower") else ""
        side, comma, qualifier = outcome.partition(",")
        names = listed([finding.contrast.treatment for finding in own])
        parts.append(f"{side}{than}{comma}{qualifier.rstrip(',')}: {names}")
    return "; ".join(parts)


def _grouped(findings: Sequence[Finding]) -> dict[str, list[Finding]]:
    """Group findings by what they say, in the order in which they stand below."""
    groups: dict[str, list[Finding]] = {}
    for finding in findings:
        groups.setdefault(_outcome(finding), []).append(finding)
    return groups


def _outcome(finding: Finding) -> str:
    wording, contrast = finding.wording, finding.contrast
    if contrast.estimate is None:
        return "no answer"
    if contrast.verdict == "open":
        return "too close to call so far"
    if contrast.verdict == "alike":
        return "no difference that matters"
    side = wording.more if contrast.verdict == "higher" else wording.less
    return f"{side}, but too little to matter," if contrast.size == "small" else side


def _alone(finding: Finding) -> str:
    outcome, reference = _outcome(finding), finding.contrast.reference
    if finding.contrast.verdict in ("higher", "lower"):
        verb = "goes" if finding.wording.distance else "comes out"
        tail = " but too little to matter" if finding.contrast.size == "small" else ""
        side = finding.wording.more if finding.contrast.verdict == "higher" else finding.wording.less
        return f"{verb} {side} than {reference},{tail}" if tail else f"{verb} {side} than {reference}"
    return f"against {reference}: {outcome}"


def _named(groups: dict[str, list[Finding]], number: int) -> str:
    parts = []
    for outcome, own in groups.items():
        parts.append(f"{outcome} on {listed([str(finding.surface.surface) for finding in own])}")
    return "; ".join(parts) if any("," in part for part in parts) else ", ".join(parts)


def _counted(groups: dict[str, list[Finding]], number: int) -> str:
    parts = []
    for place, (outcome, own) in enumerate(groups.items()):
        of_all = f" of {spelled(number)} surfaces" if place == 0 else ""
        parts.append(f"{outcome} on {spelled(len(own))}{of_all}")
    return ", ".join(parts)


def first_upper(text: str) -> str:
    """Begin a text with a capital and leave the rest as it was typed."""
    return text[:1].upper() + text[1:]
