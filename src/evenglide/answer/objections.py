"""You will object: each objection that such a study meets, answered from its own data."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from evenglide.answer.conduct import carried_treatments
from evenglide.answer.results import Answer, Guesses, Objection, SetAsideCount, Wear
from evenglide.fieldlog.state import State
from evenglide.readings.from_log import LogReadings
from evenglide.show.notes import agreeing
from evenglide.show.numbers import (
    count,
    decimals_for,
    fixed,
    listed,
    percent_change,
    plain,
    spelled,
    with_unit,
)
from evenglide.show.objections import OBJECTIONS
from evenglide.study.study import Study
from evenglide.typing import Interval

ANSWERED_EITHER_WAY = frozenset({"dropped-runs"})
"""Objections to which "there was none" is an answer from the data, not a gap in them."""

SWAPPING = 2
"""Treatments that a piece of gear must have carried for its own glide to be told apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What replies are filled from.

    Parameters
    ----------
    study : Study
    readings : LogReadings
    state : State
    answer : Answer
    set_aside : tuple of SetAsideCount
    wear : tuple of Wear
    guesses : Guesses or None
    """

    study: Study
    readings: LogReadings
    state: State
    answer: Answer
    set_aside: tuple[SetAsideCount, ...]
    wear: tuple[Wear, ...]
    guesses: Guesses | None


Facts = dict[str, object]


def objections_to(evidence: Evidence) -> tuple[Objection, ...]:
    """Answer every objection of the catalogue, in its order."""
    return tuple(_answered(code, evidence) for code in OBJECTIONS)


def _answered(code: str, evidence: Evidence) -> Objection:
    entry = OBJECTIONS[code]
    checked, facts = REPLIES[code](evidence)
    template = entry.reply if checked else entry.unchecked
    return Objection(
        code=code,
        objection=agreeing(entry.objection, facts).format_map(facts),
        reply=_begun_large(agreeing(template, facts).format_map(facts).strip()),
        checked=checked or code in ANSWERED_EITHER_WAY,
    )


def _begun_large(text: str) -> str:
    """Begin a sentence with a capital where a name stands first."""
    return text[:1].upper() + text[1:]


def _gear(evidence: Evidence) -> tuple[bool, Facts]:
    launches = evidence.readings.launches
    assert launches is not None
    carried = np.unique(np.stack([launches.item.codes, launches.treatment.codes]), axis=1)[0]
    swapped = np.flatnonzero(np.bincount(carried) >= SWAPPING)
    told = {launches.item.labels[code] for code in swapped}
    names = [item.name for item in evidence.study.items if item.name in told]
    names += sorted(told.difference(names))
    return bool(names), {"items": listed(names) if names else ""}


def _surface(evidence: Evidence) -> tuple[bool, Facts]:
    launches = evidence.readings.launches
    assert launches is not None
    lines = _changes(evidence.answer, ("drift",))
    facts: Facts = {"rounds": len(launches.block.labels), "verdicts": _verdicts(lines)}
    return bool(lines), facts


def _knowing(evidence: Evidence) -> tuple[bool, Facts]:
    hidden, guesses = evidence.study.hidden_from, evidence.guesses
    if not hidden:
        return False, {"hidden": "treatments were hidden from nobody"}
    if guesses is None:
        return False, {"hidden": f"treatments were hidden from the {listed(hidden)}, but nobody guessed"}
    asked = guesses.right + guesses.wrong
    return True, {"hidden": f"the {listed(hidden)}", "right": guesses.right, "asked": asked}


def _dropped(evidence: Evidence) -> tuple[bool, Facts]:
    launches = evidence.readings.launches
    assert launches is not None
    aside = int(launches.void.sum())
    names = launches.treatment.labels
    seen = sum(one.value_seen for one in evidence.set_aside)
    unsaid = sum(one.value_unsaid for one in evidence.set_aside)
    counts = [sum(one.treatments[name] for one in evidence.set_aside) for name in names]
    facts: Facts = {
        "aside": aside,
        "launches": len(launches.void),
        "were": "was" if aside == 1 else "were",
        "counts": listed([f"{number} {name}" for name, number in zip(names, counts, strict=True)]),
        "known": _known_words(aside, seen=seen, unsaid=unsaid),
        "verdicts": _verdicts(_changes(evidence.answer, ("filled-for", "filled-against"))),
    }
    return aside > 0, facts


def _known_words(aside: int, *, seen: int, unsaid: int) -> str:
    """Say of launches set aside whether their distance was known, as far as that is clear."""
    unclear = f"for {spelled(unsaid)} of them it is not clear whether the distance was known"
    if unsaid and unsaid == aside:
        return f"and {unclear}" if aside > 1 else "and it is not clear whether its distance was known"
    told = f"{spelled(seen) if seen else 'none'} of them after the distance was known"
    return f"{told}; {unclear}" if unsaid else told


def _wearing(evidence: Evidence) -> tuple[bool, Facts]:
    told = [one for one in evidence.wear if one.per_launch is not None]
    ratio = evidence.answer.scale == "ratio"
    unit = evidence.answer.response.unit
    words = [
        f"{_changed(slope, ratio=ratio, unit=unit)}{_within(one.interval, ratio=ratio, unit=unit)} on "
        f"{one.surface}"
        for one in told
        if (slope := one.per_launch) is not None
    ]
    checks = sum(one.checks for one in evidence.wear)
    after = f"{count(checks, 'launch', 'launches')} at the end of coats checked it." if checks else ""
    confidence = with_unit(plain(100 * (1 - evidence.answer.level), digits=4), "%")
    return bool(told), {
        "wear": listed(words) if words else "",
        "confidence": confidence,
        "checks": after,
    }


def _changed(slope: float, *, ratio: bool, unit: str | None) -> str:
    return _signed(percent_change(slope), "%") if ratio else _signed(slope, unit)


def _within(interval: Interval | None, *, ratio: bool, unit: str | None) -> str:
    """Give the range of a slope behind it, in brackets; nothing where there is none."""
    if interval is None:
        return ""
    ends = [_changed(end, ratio=ratio, unit=unit) for end in interval if end is not None]
    return f" ({' to '.join(ends)})"


def _signed(change: float, unit: str | None) -> str:
    """Write a change with its sign and unit, to two digits."""
    decimals = decimals_for(abs(change)) if change else 1
    return f"{'+' if change > 0 else ''}{with_unit(fixed(change, min(decimals, 3)), unit)}"


def _stripped(evidence: Evidence) -> tuple[bool, Facts]:
    back = [one for one in evidence.readings.apart if one.kind == "return to bare" and one.value > 0]
    bare = {
        surface.surface: next(facts.mean for facts in surface.treatments if facts.reference)
        for surface in evidence.answer.surfaces
    }
    ratios = [one.value / mean for one in back if (mean := bare.get(one.surface)) is not None and mean > 0]
    if not ratios:
        return False, {}
    middle = float(np.exp(np.mean(np.log(ratios))))
    return True, {"count": len(ratios), "ratio": f"{100 * middle:.0f} %"}


def _slower(_: Evidence) -> tuple[bool, Facts]:
    return False, {}


def _rounds(evidence: Evidence) -> tuple[bool, Facts]:
    launches = evidence.readings.launches
    assert launches is not None
    contrasts = [contrast for surface in evidence.answer.surfaces for contrast in surface.contrasts]
    facts: Facts = {
        "rounds": len(launches.block.labels),
        "preparations": len(np.unique(launches.preparation.codes)),
        "open": sum(contrast.verdict == "open" for contrast in contrasts),
        "questions": len(contrasts),
    }
    return True, facts


def _tins(evidence: Evidence) -> tuple[bool, Facts]:
    carried = dict(carried_treatments(evidence.readings))
    treated = [
        one
        for label, one in evidence.state.preparations.items()
        if (one.treatment or carried.get(label)) != evidence.study.reference.name
    ]
    batches = sorted({one.batch for one in treated if one.batch})
    if len(batches) > 1:
        return True, {"batches": len(batches), "names": listed(batches)}
    told = f"True: one batch, {batches[0]}." if batches else "Not checked: nobody noted the batch."
    return False, {"batches": told, "names": ""}


def _paid(evidence: Evidence) -> tuple[bool, Facts]:
    return bool(evidence.study.paid_by), {"paid_by": evidence.study.paid_by}


REPLIES = {
    "gear-differed": _gear,
    "surface-changed": _surface,
    "you-knew": _knowing,
    "dropped-runs": _dropped,
    "coat-wore": _wearing,
    "not-off": _stripped,
    "slower-than-riding": _slower,
    "few-rounds": _rounds,
    "one-tin": _tins,
    "paid": _paid,
}
"""How each reply is filled: whether the data speak to it, and the facts."""


def _changes(answer: Answer, codes: tuple[str, ...]) -> list[bool]:
    """Whether each line of these kinds would change its verdict."""
    return [
        line.changes
        for surface in answer.surfaces
        for contrast in surface.contrasts
        for line in contrast.robustness
        if line.code in codes and line.changes is not None
    ]


def _verdicts(changes: list[bool]) -> str:
    """Say how many of these answers would be another."""
    changed: Iterator[bool] = filter(None, changes)
    number = sum(1 for _ in changed)
    return "every answer as it is" if number == 0 else f"{number} of {len(changes)} answers another"
