"""What the test cannot say, from its audit: the gravest line for the first screen, all of them below it.

And beside it how the rule was fixed and what was set aside, which the same reader wants to know.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from evenglide.answer.results import Answer
from evenglide.report.headline import first_upper
from evenglide.report.wording import Wording
from evenglide.show.numbers import count, listed
from evenglide.typing import Severity

SEVERITIES: Mapping[Severity, str] = {
    "limits": "limits the answer",
    "warns": "take care",
    "fine": "good to know",
}
"""Severities in words, the gravest first."""

MAIN_LIMITS: Mapping[str, str] = {
    "item-is-treatment": "Each piece of gear carried one treatment, so a difference may be one "
    "between the pieces.",
    "one-preparation-each": "With one preparation of a treatment it speaks of that very one; "
    "whether fresh ones would do the same it cannot say.",
    "carry-over": "A treatment that stays on may still be at work in what was launched after it.",
    "order-follows-treatment": "Treatment and order went together, so a drift of the surface "
    "would come out the same.",
    "days-follow-treatment": "Days and treatments went together, so a change between days would come "
    "out the same.",
    "marks-mixed": "Launches on one surface were measured in different ways, so their numbers "
    "do not mean the same.",
    "rows-as-preparations": "Every row counts as a preparation of its own; if several share one, "
    "the bars are too short.",
    "few-preparations": "So few preparations tell little of how far others would lie from them.",
    "voids-unequal": "Launches were set aside more often with one treatment than with another.",
    "surface-tied-to-coat-age": "Later surfaces met a more worn coat, so part of their answer is wear.",
    "one-day": "All launches were made on one day; another day may differ.",
    "no-blocks": "Nothing says which preparations met like conditions, so a change of the day "
    "may be part of it.",
    "these-items-only": "It speaks of these very pieces of gear; others of the kind may differ.",
    "randomisation-cannot-reject": "So few orders could have been drawn that the draw alone can settle "
    "nothing.",
}
"""What the answer cannot carry, in one short sentence each, the gravest first."""

RIDING_SPEED = "One launch shows gliding at its own speed and load. At riding speed with somebody on it: {}."
CANNOT_SAY = "this data cannot say"
ONLY_THIS = "It speaks of what was measured, under the conditions of these launches."

SEAL_TOO_LATE = frozenset({"clock-before-seal", "launched-before-seal", "not-sealed", "seal-broken"})
"""Departures after which nobody may say that the rule was sealed before the first launch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One entry of what the test cannot say.

    Parameters
    ----------
    severity : {"limits", "warns", "fine"}
    words : str
        The severity in words.
    told : tuple of (str, str)
        Surfaces it is about ("" for the whole) and its sentence; several where one kind of remark
        reads differently on them.
    """

    severity: Severity
    words: str
    told: tuple[tuple[str, str], ...]


def remarks_of(answer: Answer) -> tuple[Remark, ...]:
    """Sort what the test cannot say by severity; one kind of remark stands once, with all its surfaces."""
    kinds: dict[tuple[Severity, str], dict[str, list[str]]] = {}
    for entry in answer.audit:
        texts = kinds.setdefault((entry.severity, entry.code), {})
        texts.setdefault(entry.text, []).extend([entry.surface] if entry.surface else [])
    order = list(SEVERITIES)
    return tuple(
        Remark(
            severity=severity,
            words=SEVERITIES[severity],
            told=tuple((listed(surfaces), text) for text, surfaces in texts.items()),
        )
        for (severity, _), texts in sorted(kinds.items(), key=lambda kind: order.index(kind[0][0]))
    )


def cannot_say(answer: Answer, wording: Wording) -> tuple[str, ...]:
    """Name the gravest line of the audit, and riding speed whenever distance is the response."""
    worst = _worst(answer)
    riding = [RIDING_SPEED.format(CANNOT_SAY)] if wording.distance else []
    return (*([worst] if worst else []), *riding) or (ONLY_THIS,)


def _worst(answer: Answer) -> str:
    """Take what limits the answer, else what asks for care; "" where neither does."""
    severities: tuple[Severity, ...] = ("limits", "warns")
    departed = answer.conduct.departures if answer.conduct is not None else ()
    for severity in severities:
        codes = {entry.code for entry in answer.audit if entry.severity == severity}
        told = [text for code, text in MAIN_LIMITS.items() if code in codes]
        told += [_placed(answer, remark) for remark in remarks_of(answer) if remark.severity == severity]
        told += [_short(entry.text) for entry in departed if entry.severity == severity]
        if told:
            return told[0]
    return ""


def _placed(answer: Answer, remark: Remark) -> str:
    """Tell a remark in its first sentence, under its surfaces unless it is about all of them."""
    surfaces, text = remark.told[0]
    everywhere = listed([surface.surface or "" for surface in answer.surfaces])
    return _short(text) if surfaces in ("", everywhere) else f"{first_upper(surfaces)}: {_short(text)}"


def _short(text: str) -> str:
    """Keep the first sentence of a remark."""
    return f"{text.split('. ', maxsplit=1)[0].rstrip('.')}."


def checking(answer: Answer, *, sealed_on: str = "") -> tuple[str, ...]:
    """Say when the rule was fixed, what was done otherwise, and what was set aside."""
    facts = [facts for surface in answer.surfaces for facts in surface.treatments]
    voids, at_least = sum(entry.voids for entry in facts), sum(entry.at_least for entry in facts)
    counted = [f"{count(voids, 'launch', 'launches')} set aside" if voids else "No launch was set aside"]
    if at_least:
        counted.append(f"{count(at_least, 'counts', 'count')} as “at least”")
    return (_when_fixed(answer, sealed_on), f"{', '.join(counted)}.")


def _when_fixed(answer: Answer, sealed_on: str) -> str:
    seal = answer.provenance.seal
    if seal is None:
        return "Nothing shows that the rule was fixed before the first launch."
    on = f" on {sealed_on}" if sealed_on else ""
    fingerprint = f"(fingerprint {seal[:4]}…)"
    departures = answer.conduct.departures if answer.conduct is not None else ()
    if any(one.code in SEAL_TOO_LATE for one in departures):
        return f"The rule was sealed{on} {fingerprint}, but not shown to be so before the first launch."
    comma = "," if on else ""
    told = f"The rule was sealed{on}{comma} before the first launch {fingerprint}."
    if answer.conduct is None:
        return told
    return f"{told} {departures_words(len(answer.conduct.departures))}"


def departures_words(number: int) -> str:
    """Count what went otherwise than sealed, or what the log leaves open."""
    if number == 0:
        return "Nothing went otherwise."
    return f"{count(number, 'thing')} went otherwise; the report lists {'it' if number == 1 else 'them'}."
