"""How a sealed study was carried out, for its report: changes since the seal, set aside, wear, guesses.

Words and tables from `Conduct`, which stands in the answer, and from the log's own state where a
page wants to know when and where.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from evenglide.answer.results import Answer, ConditionRange, Conduct, Objection, Wear
from evenglide.fieldlog.state import State
from evenglide.report.headline import first_upper
from evenglide.report.surroundings import Course
from evenglide.show.departures import Departure, runs
from evenglide.show.numbers import (
    MINUS,
    NO_BREAK,
    count,
    fixed,
    listed,
    percent_change,
    plain,
    whole,
    with_unit,
)
from evenglide.show.table import Align, Table

NOT_CHECKED = "not checked"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip

LEFT_OUT: Mapping[str, str] = {
    "not made": "planned and not made",
    "not read": "made, and no distance read yet",
    "doubtful": "read, but as a text that is no number",
    "peg lost": "the peg was lost before it was read",
    "unusable": "a distance that cannot be compared with the others",
    "not placed": "a treatment or a surface that the study does not have",
    "not planned": "made beyond the plan",
    "after the check": "made after the half-way check that counts here",
}
"""Why a launch does not enter, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """A likely objection, the reply, and whether the study checked it."""

    objection: str
    reply: str
    mark: str


def replies(objections: Sequence[Objection]) -> tuple[Reply, ...]:
    """Set every objection beside its reply; what was not checked is marked as such, once."""
    return tuple(
        Reply(
            objection=one.objection,
            reply=first_upper(one.reply.removeprefix("Not checked: ")),
            mark="" if one.checked else NOT_CHECKED,
        )
        for one in objections
    )


def sealed_on(state: State | None) -> str:
    """Day of the seal as people write it; "" where it is not known."""
    return day_words(state.sealed_at) if state is not None and state.seal is not None else ""


def day_words(text: str) -> str:
    """Write the day of a time stamp: ``9 January 2026``; what is no date stays as it was written.

    Examples
    --------
    >>> day_words("2026-01-09T18:00:00Z").replace(NO_BREAK, " ")
    '9 January 2026'
    """
    try:
        day = date.fromisoformat(text[:10])
    except ValueError:
        return text
    return f"{day.day}{NO_BREAK}{MONTHS[day.month - 1]} {day.year}"


def posted_words(state: State | None) -> tuple[str, ...]:
    """Say where and when the fingerprint was posted."""
    if state is None:
        return ()
    return tuple(
        ", ".join(part for part in (one.said.where, day_words(one.said.when)) if part)
        for one in state.postings
    )


def departures_by_weight(conduct: Conduct) -> tuple[Departure, ...]:
    """Sort what was done otherwise than sealed, the gravest first."""
    order = ("limits", "warns", "fine")
    return tuple(sorted(conduct.departures, key=lambda one: order.index(one.severity)))


def set_aside_table(conduct: Conduct) -> Table | None:
    """Tabulate launches set aside by cause and treatment; None where none was."""
    if not conduct.set_aside:
        return None
    names = list(conduct.set_aside[0].treatments)
    rows = tuple(
        (
            one.cause,
            *(whole(one.treatments[name]) for name in names),
            f"{whole(one.value_seen)}; not known for {whole(one.value_unsaid)}"
            if one.value_unsaid
            else whole(one.value_seen),
            "yes" if one.listed else "no",
        )
        for one in conduct.set_aside
    )
    right: Align = "right"
    return Table(
        caption="Launches set aside, by cause and treatment",
        columns=("cause", *names, "distance known", "cause stated before"),
        rows=rows,
        align=("left", *(right for _ in names), "right", "left"),
    )


def left_out_words(conduct: Conduct) -> tuple[str, ...]:
    """Say which launches do not enter, and why, reason by reason."""
    return tuple(
        f"{first_upper(LEFT_OUT.get(reason, reason))}: {count(len(numbers), 'launch', 'launches')} "
        f"({runs(numbers)})."
        for reason, numbers in conduct.left_out.items()
        if numbers
    )


def wear_table(answer: Answer) -> Table | None:
    """Tabulate how the distance changed from one launch on a preparation to the next, by surface."""
    assert answer.conduct is not None
    known = [one for one in answer.conduct.wear if one.per_launch is not None]
    if not known:
        return None
    right: Align = "right"
    checked = any(one.checks for one in answer.conduct.wear)
    confidence = with_unit(plain(100 * (1 - answer.level), digits=4), "%")
    head = ("surface", "change per launch", f"{confidence} interval", *(("wear checks",) if checked else ()))
    rows = tuple(
        (
            one.surface,
            _per_launch(answer, one.per_launch),
            _range_per_launch(answer, one),
            *((whole(one.checks),) if checked else ()),
        )
        for one in answer.conduct.wear
    )
    return Table(
        caption="Change of the distance from one launch on a preparation to the next",
        columns=head,
        rows=rows,
        align=("left", *(right for _ in head[1:])),
    )


def _range_per_launch(answer: Answer, wear: Wear) -> str:
    if wear.interval is None:
        return "–"
    return " to ".join(_per_launch(answer, end) for end in wear.interval)


def _per_launch(answer: Answer, slope: float | None) -> str:
    """Write a change with its sign, in percent or in the response's unit."""
    if slope is None:
        return "–"
    change = percent_change(slope) if answer.scale == "ratio" else slope
    unit = "%" if answer.scale == "ratio" else answer.response.unit
    written = fixed(change, 2) if answer.scale == "ratio" else plain(change, digits=2)
    sign = "" if written.startswith(MINUS) or not any(digit in "123456789" for digit in written) else "+"
    return with_unit(f"{sign}{written}", unit)


def guesses_words(conduct: Conduct, *, treatments: int) -> str:
    """Tell how often those who were not told guessed right, beside what blind guessing would give."""
    guesses = conduct.guesses
    if guesses is None:
        return "Nobody was asked for a guess at what a preparation carried."
    asked = guesses.right + guesses.wrong
    blind = plain(asked / treatments, digits=2)
    return (
        f"Asked what a preparation carried, those who were not told were right {whole(guesses.right)} of "
        f"{count(asked, 'time')}; guessing blindly would be right about {blind} times."
    )


def conditions_words(conduct: Conduct, *, drawn: Sequence[Course] = ()) -> tuple[str, ...]:
    """Say what was noted of the surroundings and is not drawn: smallest and largest value, and words."""
    pictures = {(one.name, one.unit) for one in drawn}
    began = (("Place", conduct.places), ("Sky and wind", conduct.skies))
    first = tuple(f"{name}: {listed(told)}." for name, told in began if told)
    return first + tuple(
        f"{first_upper(one.name)}: {'; '.join(part for part in (_span(one), listed(one.words)) if part)}."
        for one in conduct.conditions
        if (one.name, one.unit) not in pictures or one.words
    )


def _span(one: ConditionRange) -> str:
    if one.least is None or one.most is None:
        return ""
    least, most = (plain(value, digits=4) for value in (one.least, one.most))
    told = least if least == most else f"{least} to {most}"
    return with_unit(told, one.unit) if one.unit else told
