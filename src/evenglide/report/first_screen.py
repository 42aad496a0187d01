"""The first screen in words: what was found, what is open, what it rests on and cannot say, how to check.

For a rider. None of these lines speaks of probabilities of error beyond "80 % chance", of degrees
of freedom, contrasts, levels or looks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from evenglide.answer.results import Answer
from evenglide.report.findings import Finding, findings_of
from evenglide.report.headline import first_upper, headline
from evenglide.report.sentences import Sentence, anything_fits, tell
from evenglide.report.wording import Wording
from evenglide.show.numbers import NO_BREAK, count, fixed, listed, spelled, with_unit

NOT_SETTLED_AT_MOST = 3
"""Unsettled findings told one by one on the first screen."""

ALL_NAMED = 2
"""Up to so many findings that all leave the same open are still named."""

MAIN_LIMITS: Mapping[str, str] = {
    "item-is-treatment": "Each piece of gear carried one treatment, so a difference may be one "
    "between the pieces.",
    "one-preparation-each": "With one preparation of a treatment it speaks of that very one; "
    "whether fresh ones would do the same it cannot say.",
    "carry-over": "A treatment that stays on may still be at work in what was launched after it.",
    "order-follows-treatment": "Treatment and order went together, so a drift of the surface "
    "would look the same.",
    "marks-mixed": "Launches on one surface were measured in different ways, so their numbers "
    "do not mean the same.",
    "rows-as-preparations": "Every row counts as a preparation of its own; if several share one, "
    "the bars are too short.",
    "surface-tied-to-coat-age": "Later surfaces met a more worn coat, so part of their answer is wear.",
    "one-day": "All launches were made on one day; another day may differ.",
    "no-blocks": "Nothing says which preparations met like conditions, so a change of the day "
    "may be part of it.",
}
"""What the answer cannot carry, in one short sentence each, the gravest first."""

RIDING_SPEED = "One launch shows gliding at its own speed and load. At riding speed with somebody on it: {}."
CANNOT_SAY = "this data cannot say"
ONLY_THIS = "It speaks of what was measured, under the conditions of these launches."


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstScreen:
    """Everything that the first screen says.

    Parameters
    ----------
    headline : str
        The whole answer in one line.
    rows : tuple of (Finding, Sentence)
        Each contrast with its sentence.
    not_settled : tuple of str
        What is open, what still fits, and what would close it; empty where all is settled.
    rests_on : Sentence
        Preparations, and what the launches do.
    cannot_say : tuple of str
        The main things this test cannot say.
    more_remarks : int
        Remarks that limit the answer or ask for care, beyond those told here.
    checking : tuple of str
        When the rule was fixed, what was set aside, how to check it.
    """

    headline: str
    rows: tuple[tuple[Finding, Sentence], ...]
    not_settled: tuple[str, ...]
    rests_on: Sentence
    cannot_say: tuple[str, ...]
    more_remarks: int
    checking: tuple[str, ...]

    @property
    def text(self) -> str:
        """All words of the first screen, one part in a line."""
        lines = [self.headline, *(sentence.text for _, sentence in self.rows), *self.not_settled]
        return "\n".join([*lines, self.rests_on.text, *self.cannot_say, *self.checking])


def first_screen(answer: Answer, wording: Wording) -> FirstScreen:
    """Put an answer into the words of the first screen."""
    findings = tuple(findings_of(answer, wording))
    cannot_say, more_remarks = _cannot_say(answer, wording)
    return FirstScreen(
        headline=headline(answer, wording),
        rows=tuple((finding, tell(finding)) for finding in findings),
        not_settled=tuple(_not_settled(findings)),
        rests_on=_rests_on(answer),
        cannot_say=cannot_say,
        more_remarks=more_remarks,
        checking=_checking(answer),
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
    if contrast.verdict == "open":
        fits = anything_fits(finding)
        return f"{fits[:1].lower()}{fits[1:]}. {rounds_to_close(finding)}".rstrip()
    if contrast.size == "unsettled":
        effects = finding.effects
        return f"whether it is more than the {effects.margin_words()} that {effects.matters}."
    return ""


def rounds_to_close(finding: Finding) -> str:
    """Say how many rounds of a new sealed study would close an open question, and with what chance."""
    closing = finding.contrast.to_close
    if closing is None or (closing.difference_blocks is None and closing.alike_blocks is None):
        return "" if finding.surface.margin is None else "How many rounds would settle it cannot be said."
    margin, chance = finding.effects.margin_words(), with_unit(fixed(100 * closing.chance, 0), "%")
    ways = []
    if closing.difference_blocks is not None:
        ways.append(f"{count(closing.difference_blocks, 'round')} to show a difference of {margin}")
    if closing.alike_blocks is not None:
        ways.append(f"{count(closing.alike_blocks, 'round')} to show that none matters")
    each = " each" if len(ways) > 1 else ""
    return f"A new sealed study needs {listed(ways, last='or')} ({chance} chance{each})."


def _rests_on(answer: Answer) -> Sentence:
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
        place = ", the same on each surface" if _is_shared(answer) else " on each surface"
    noun = "preparation" if max(totals) == 1 else "preparations"
    each = listed([f"{_from_to(numbers)}{NO_BREAK}{name}" for name, numbers in by_treatment.items()])
    steady = f"The {count(launches, 'launch', 'launches')} only make each one steadier."
    rest = f": {each}, each launched once." if once else f": {each}. {steady}"
    return Sentence(lead=f"{_from_to(totals)}{NO_BREAK}{noun}{place}", rest=rest)


def _is_shared(answer: Answer) -> bool:
    """Whether one preparation served all surfaces: only then is there a joint randomisation test."""
    contrasts = [contrast for surface in answer.surfaces for contrast in surface.contrasts]
    return any(contrast.p_randomisation_joint is not None for contrast in contrasts)


def _from_to(numbers: list[int]) -> str:
    least, most = min(numbers), max(numbers)
    return str(least) if least == most else f"{least} to {most}"


def _cannot_say(answer: Answer, wording: Wording) -> tuple[tuple[str, ...], int]:
    """Name the gravest limits, riding speed among them whenever distance is the response; count the rest."""
    found = {entry.code: entry.severity for entry in answer.audit}
    grave = [text for code, text in MAIN_LIMITS.items() if found.get(code) == "limits"][:1]
    lesser = [text for code, text in MAIN_LIMITS.items() if found.get(code) == "warns"][:1]
    from_audit = grave or ([] if wording.distance else lesser)
    told = [*from_audit, *([RIDING_SPEED.format(CANNOT_SAY)] if wording.distance else [])]
    more = sum(entry.severity != "fine" for entry in answer.audit) - len(from_audit)
    return tuple(told) or (ONLY_THIS,), more


def _checking(answer: Answer) -> tuple[str, ...]:
    facts = [facts for surface in answer.surfaces for facts in surface.treatments]
    voids, at_least = sum(entry.voids for entry in facts), sum(entry.at_least for entry in facts)
    told = [_when_fixed(answer)]
    counted = [f"{count(voids, 'launch', 'launches')} set aside" if voids else "No launch was set aside"]
    if at_least:
        counted.append(f"{count(at_least, 'counts', 'count')} as “at least”")
    told.append(f"{', '.join(counted)}.")
    return tuple(told)


def _when_fixed(answer: Answer) -> str:
    seal = answer.provenance.seal
    if seal is None:
        return "As far as this table tells, the rule was not sealed before the first launch."
    return f"The rule was sealed before the first launch{NO_BREAK}({seal[:4]}…{seal[-4:]})."
