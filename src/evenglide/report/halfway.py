"""Half-way checks in a rider's words: where the answer stands, and what stopping means."""

from __future__ import annotations

from collections.abc import Sequence

from evenglide.answer.results import Answer, Looks
from evenglide.report.findings import Finding
from evenglide.report.headline import first_upper
from evenglide.show.numbers import count, listed


def halfway_words(findings: Sequence[Finding]) -> tuple[str, ...]:
    """Say that an answer is a half-way check, or which questions one settled; nothing without checks."""
    looks = [finding.contrast.looks for finding in findings if finding.contrast.looks is not None]
    if not looks:
        return ()
    if looks[0].ended_early:
        return (f"Ended before its plan, after {_so_far(looks)}.", *_settled_before(findings))
    if is_halfway(looks[0]):
        return (*_standing(looks), _stopping(findings))
    return _settled_before(findings)


def is_halfway(looks: Looks | None) -> bool:
    """Whether an answer is given at a planned check before the end."""
    return looks is not None and not looks.ended_early and looks.reached < len(looks.planned)


def goes_on(finding: Finding) -> bool:
    """Whether the plan has more launches for a question that is open."""
    looks = finding.contrast.looks
    return is_halfway(looks) and looks is not None and looks.stopped_at is None


def checks_method(answer: Answer) -> str:
    """Explain how half-way checks are judged; "" without any."""
    contrasts = [contrast for surface in answer.surfaces for contrast in surface.contrasts]
    looks = next((contrast.looks for contrast in contrasts if contrast.looks is not None), None)
    if looks is None:
        return ""
    checks = count(len(looks.planned) - 1, "half-way check")
    return (
        f"The plan has {checks} before the end, fixed by the seal. A check asks for more than the end does, "
        "so that all of them together keep the error rate: the level is spent by the share of preparations "
        "that are in, little of it early (Lan and DeMets 1983, O’Brien-Fleming type), and what t must reach "
        "was worked out for the few preparations there are. The p values of such a study are repeated ones: "
        "the smallest level at which the check would have settled the question. A comparison that is settled "
        "keeps them."
    )


def _standing(looks: Sequence[Looks]) -> tuple[str, ...]:
    return (f"This is a half-way check, planned before the first launch: {_so_far(looks)}.",)


def _so_far(looks: Sequence[Looks]) -> str:
    """Count the preparations so far."""
    done = sorted({(one.at[-1].preparations, one.preparations) for one in looks})
    told = " or ".join(f"{made} of {count(planned, 'planned preparation')}" for made, planned in done)
    return f"{told} on a surface"


def _stopping(findings: Sequence[Finding]) -> str:
    settled = [finding.spoken for finding in findings if _looks(finding).stopped_at is not None]
    if not settled:
        return "Nothing is settled yet. Go on as planned; what is open now is no result."
    done = (
        f"{first_upper(listed(settled))}: settled for good, whatever comes later; no more launches are needed"
    )
    if len(settled) == len(findings):
        return f"{done}. The study may stop here."
    return f"{done}. Go on as planned with the rest; what is open now is no result."


def _settled_before(findings: Sequence[Finding]) -> tuple[str, ...]:
    """Tell what was settled at a check before the last look."""
    groups: dict[tuple[int, int], list[str]] = {}
    for finding in findings:
        looks = _looks(finding)
        if looks.stopped_at is not None and looks.stopped_at < looks.reached:
            settled = looks.at[looks.stopped_at - 1]
            groups.setdefault((settled.preparations, looks.preparations), []).append(finding.spoken)
    return tuple(
        f"{first_upper(listed(names))}: settled at a half-way check, after {made} of "
        f"{count(planned, 'planned preparation')}. What was launched there later does not enter."
        for (made, planned), names in groups.items()
    )


def _looks(finding: Finding) -> Looks:
    assert finding.contrast.looks is not None
    return finding.contrast.looks
