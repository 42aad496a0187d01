"""The first screen in words: what was found, what is open, what it rests on and cannot say, how to check.

For a rider. None of these lines speaks of probabilities of error beyond "80 % chance", of degrees
of freedom, contrasts, levels or looks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from evenglide.answer.results import Answer
from evenglide.report.changing import would_change
from evenglide.report.findings import Finding, findings_of
from evenglide.report.halfway import goes_on, halfway_words
from evenglide.report.headline import first_upper, headline
from evenglide.report.remarks import cannot_say, checking, remarks_of
from evenglide.report.sentences import Sentence, anything_fits, margin_beside, tell
from evenglide.report.wording import Wording
from evenglide.show.numbers import NO_BREAK, count, fixed, listed, spelled, with_unit

NOT_SETTLED_AT_MOST = 3
"""Unsettled findings told one by one on the first screen."""

ALL_NAMED = 2
"""Up to so many findings that all leave the same open are still named."""

PREPARATION = "A preparation is one piece of gear made ready once"


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstScreen:
    """Everything that the first screen says.

    Parameters
    ----------
    headline : str
        The whole answer in one line.
    halfway : tuple of str
        That this is a half-way check and what stopping means; what one has settled before.
    rows : tuple of (Finding, Sentence)
        Each contrast with its sentence.
    not_settled : tuple of str
        What is open, what still fits, and what would close it; empty where all is settled.
    rests_on : Sentence
        Preparations, and what the launches do.
    would_change : tuple of str
        What would change an answer, or that nothing of what was tried would.
    cannot_say : tuple of str
        The main things this test cannot say.
    remarks : int
        Remarks that a report lists below, those told here among them.
    checking : tuple of str
        When the rule was fixed, what was set aside, how to check it.
    """

    headline: str
    halfway: tuple[str, ...]
    rows: tuple[tuple[Finding, Sentence], ...]
    not_settled: tuple[str, ...]
    rests_on: Sentence
    would_change: tuple[str, ...]
    cannot_say: tuple[str, ...]
    remarks: int
    checking: tuple[str, ...]

    @property
    def text(self) -> str:
        """All words of the first screen, one part in a line."""
        lines = [
            self.headline,
            *self.halfway,
            *(sentence.text for _, sentence in self.rows),
            *self.not_settled,
        ]
        return "\n".join([*lines, self.rests_on.text, *self.would_change, *self.cannot_say, *self.checking])


def first_screen(
    answer: Answer, wording: Wording, *, shared: bool | None = None, sealed_on: str = ""
) -> FirstScreen:
    """Put an answer into the words of the first screen.

    Parameters
    ----------
    answer : Answer
    wording : Wording
    shared : bool, optional
        One preparation served all surfaces; taken from the answer if not given, which knows it only
        where it could test all surfaces together.
    sealed_on : str, optional
        Day of the seal, in words.
    """
    findings = tuple(findings_of(answer, wording))
    return FirstScreen(
        headline=headline(answer, wording),
        halfway=halfway_words(findings),
        rows=tuple((finding, tell(finding)) for finding in findings),
        not_settled=tuple(_not_settled(findings)),
        rests_on=_rests_on(answer, shared=_is_shared(answer) if shared is None else shared),
        would_change=would_change(findings),
        cannot_say=cannot_say(answer, wording),
        remarks=len(remarks_of(answer)),
        checking=checking(answer, sealed_on=sealed_on),
    )


def _not_settled(findings: tuple[Finding, ...]) -> Iterable[str]:
    """Tell what is open, findings that leave the same open in one line."""
    names: dict[str, list[str]] = {}
    for finding in findings:
        if told := _still_open(finding):
            names.setdefault(told, []).append(finding.spoken)
    every = len(names) == 1 and len(findings) > ALL_NAMED and len(next(iter(names.values()))) == len(findings)
    lines = [f"{f'all {spelled(len(own))}' if every else listed(own)}: {told}" for told, own in names.items()]
    yield from (first_upper(line) for line in lines[:NOT_SETTLED_AT_MOST])
    if len(lines) > NOT_SETTLED_AT_MOST:
        yield f"And {count(len(lines) - NOT_SETTLED_AT_MOST, 'more', 'more')}, told above."


def _still_open(finding: Finding) -> str:
    """Tell what one finding leaves open and what would close it; "" where nothing is open."""
    contrast = finding.contrast
    if contrast.estimate is None:
        return "no answer."
    if finding.bar is None:
        return "how far other preparations would lie from these."
    if goes_on(finding):
        return "open at this check; the plan goes on." if contrast.verdict == "open" else ""
    if contrast.verdict == "open":
        fits = anything_fits(finding)
        return rounds_to_close(finding) or f"{fits[:1].lower()}{fits[1:]}."
    if contrast.size == "unsettled":
        effects = finding.effects
        return f"whether it is more than the {margin_beside(finding)} that {effects.matters}."
    return ""


def rounds_to_close(finding: Finding) -> str:
    """Say how many rounds of a new sealed study would close an open question, and with what chance."""
    closing = finding.contrast.to_close
    if closing is None or (closing.difference_blocks is None and closing.alike_blocks is None):
        return "" if finding.surface.margin is None else "how many rounds would settle it cannot be said."
    margin, chance = finding.effects.margin_words(), with_unit(fixed(100 * closing.chance, 0), "%")
    aims = {
        f"to show a difference of {margin}": closing.difference_blocks,
        "to show that none matters": closing.alike_blocks,
    }
    ways = [f"{count(blocks, 'round')} {aim}" for aim, blocks in aims.items() if blocks is not None]
    if closing.difference_blocks == closing.alike_blocks and closing.alike_blocks is not None:
        ways = [f"{count(closing.alike_blocks, 'round')}, {listed(list(aims), last='or')}"]
    each = " each" if None not in aims.values() else ""
    return f"a new sealed study needs {listed(ways, last='or')} ({chance} chance{each})."


def _rests_on(answer: Answer, *, shared: bool) -> Sentence:
    """Count preparations, the unit that counts, and say what launches add."""
    by_treatment: dict[str, list[int]] = {}
    totals = []
    for surface in answer.surfaces:
        totals.append(sum(facts.preparations for facts in surface.treatments))
        for facts in surface.treatments:
            by_treatment.setdefault(facts.treatment, []).append(facts.preparations)
    launches = sum(facts.launches for surface in answer.surfaces for facts in surface.treatments)
    once = launches == sum(totals)
    place = ""
    if len(answer.surfaces) > 1:
        served = " served every surface" if len(set(totals)) == 1 else " on each surface, shared by all"
        place = served if shared else " on each surface"
    if max(totals) == 0:
        lead = "No preparation has a value"
        return Sentence(lead=lead, rest=f": {count(launches, 'launch', 'launches')} cannot be judged so.")
    noun = "preparation" if max(totals) == 1 else "preparations"
    each = listed([f"{_from_to(numbers)}{NO_BREAK}{name}" for name, numbers in by_treatment.items()])
    steady = f"the {count(launches, 'launch', 'launches')} only make each one steadier."
    rest = f": {each}, each launched once." if once else f": {each}. {PREPARATION}; {steady}"
    return Sentence(
        lead=f"{_from_to(totals)}{NO_BREAK}{noun}{place}", rest=f"{rest}{_gear_that_counts(answer)}"
    )


def _gear_that_counts(answer: Answer) -> str:
    """Say where pieces of gear, not preparations, are what counts: each kept its treatment throughout."""
    counts = [entry.facts.get("count") for entry in answer.audit if entry.code == "item-is-treatment"]
    numbers = [number for number in counts if isinstance(number, int)]
    if not numbers:
        return ""
    pieces = f"{_from_to(numbers)}{NO_BREAK}pieces of gear"
    return f" But no piece of gear changed its treatment, so only {pieces} count."


def _is_shared(answer: Answer) -> bool:
    """Whether one preparation served all surfaces: only then is there a joint randomisation test."""
    contrasts = [contrast for surface in answer.surfaces for contrast in surface.contrasts]
    return any(contrast.p_randomisation_joint is not None for contrast in contrasts)


def _from_to(numbers: list[int]) -> str:
    least, most = min(numbers), max(numbers)
    return str(least) if least == most else f"{least} to {most}"
