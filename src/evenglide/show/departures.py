"""The catalogue of departures: everything that can be otherwise than sealed, each in one sentence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeGuard

from evenglide.show.catalogue import Entry
from evenglide.show.notes import agreeing, sentence
from evenglide.typing import Severity

GRAVEST_FIRST: tuple[Severity, ...] = ("limits", "warns", "fine")
SHOWN_RUNS = 8
SHORT_RUN = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """One thing that was done otherwise than sealed, or that the log leaves open.

    Parameters
    ----------
    code : str
        Key of `DEPARTURES`.
    severity : {"limits", "warns", "fine"}
    facts : mapping
        Values in the sentence, unrounded.
    text : str
        The sentence.
    """

    code: str
    severity: Severity
    facts: Mapping[str, object]
    text: str


DEPARTURES: Mapping[str, Entry] = {
    "blocks-beyond-plan": Entry(
        severity="warns",
        text="Rounds were made that the plan does not have: {names}. Their launches do not count.",
    ),
    "changed-after-look": Entry(
        severity="limits",
        text="Records of {count:launch that had been analysed were|launches that had been analysed were} "
        "changed afterwards: a reading corrected, a launch set aside or counted otherwise ({numbers}).",
    ),
    "clock-before-seal": Entry(
        severity="warns",
        text="By the clocks of the devices, {count:launch was|launches were} made before the seal "
        "({numbers}).",
    ),
    "clock-jumped": Entry(
        severity="fine",
        text="The clock of a device went back, by up to {jump}. The order of launches does not rest on "
        "clocks.",
    ),
    "coat-damaged": Entry(
        severity="warns", text="A coat was damaged: {preparation}{words}. Its launches still count."
    ),
    "conflicting-records": Entry(
        severity="warns",
        text="{count:record|records} came under an id that another record has. What came first stands; look "
        "at both.",
    ),
    "corrected-differently": Entry(
        severity="warns",
        text="{count:record was|records were} corrected differently on two devices. The last correction in "
        "the order of replay stands; look at both.",
    ),
    "corrections-astray": Entry(
        severity="warns",
        text="{count:correction fits|corrections fit} nothing that was recorded; not applied.",
    ),
    "items-otherwise": Entry(
        severity="limits",
        text="{preparation} was made on {done}, not on {planned}. Its launches count as what was done.",
    ),
    "ended-early": Entry(
        severity="warns",
        text="The study was answered before its end, {waiting:planned launch|planned launches} not made, and "
        "nothing was launched since. Whether the result had a part in ending it, the log cannot tell.",
    ),
    "incident": Entry(severity="fine", text="{time}: {words}"),
    "launched-before-seal": Entry(
        severity="limits",
        text="{count:launch was|launches were} recorded before the plan was sealed ({numbers}). What was "
        "seen may have shaped the plan.",
    ),
    "launched-otherwise": Entry(
        severity="warns",
        text="{count:launch was|launches were} made with another preparation or on another set-up than "
        "planned ({numbers}). They count as what was done.",
    ),
    "launched-twice": Entry(
        severity="warns", text="{count:launch was|launches were} recorded as made twice ({numbers})."
    ),
    "launches-as-checks": Entry(
        severity="warns",
        text="{count:planned launch was|planned launches were} recorded as a wear check or a return to bare "
        "({numbers}). Nothing of that counts.",
    ),
    "launches-beyond-plan": Entry(
        severity="warns",
        text="{count:launch was|launches were} made that the plan does not have ({numbers}). Nothing of that "
        "counts.",
    ),
    "launches-missing": Entry(
        severity="warns",
        text="Not made: {count} of {planned:planned launch|planned launches} ({numbers}).",
    ),
    "looked-early": Entry(
        severity="limits",
        text="The results were looked at {count:time|times} when no check was planned, with "
        "{later:launch|launches} made afterwards. Each such look is another chance of a false claim.",
    ),
    "looks-beyond-plan": Entry(
        severity="limits",
        text="The launches were analysed {made:time|times} before the end; {planned} planned. Each look more "
        "is another chance of a false claim.",
    ),
    "not-placed": Entry(
        severity="limits",
        text="{count:launch names|launches name} a treatment or a surface that the study does not have "
        "({numbers}). Nothing of that counts.",
    ),
    "not-sealed": Entry(
        severity="limits",
        text="The plan was not sealed. Nobody can tell what was decided before the first launch.",
    ),
    "order-changed": Entry(
        severity="warns",
        text="{count:launch was|launches were} not made in the order of the plan ({numbers}).",
    ),
    "pegs-lost": Entry(
        severity="warns",
        text="{count:mark was|marks were} lost before anybody read how far the launch went ({numbers}).",
    ),
    "preparations-beyond-plan": Entry(
        severity="warns", text="Preparations were made that the plan does not have: {names}."
    ),
    "preparations-missing": Entry(
        severity="warns",
        text="Without a launch: {count} of {planned:planned preparation|planned preparations} ({names}).",
    ),
    "prepared-twice": Entry(
        severity="warns",
        text="{names}: recorded as prepared more than once, and otherwise. The first record stands.",
    ),
    "read-twice": Entry(
        severity="warns",
        text="{count:launch has|launches have} two readings that differ ({numbers}). The first one counts.",
    ),
    "readings-corrected": Entry(
        severity="fine", text="{count:reading was|readings were} corrected or taken back later ({numbers})."
    ),
    "records-missing": Entry(
        severity="warns",
        text="{count:record that a device numbered has|records that devices numbered have} not arrived. Take "
        "in the logs of all devices.",
    ),
    "read-though-lost": Entry(
        severity="warns",
        text="{count:launch has|launches have} a reading though the mark is recorded as lost ({numbers}). "
        "The reading counts.",
    ),
    "record-numbers-twice": Entry(
        severity="fine",
        text="{count:record shares its|records share their} number with another one of the same device: a "
        "copy of the log was used on two machines.",
    ),
    "revealed-early": Entry(
        severity="limits",
        text="The treatments were told when {later:launch was|launches were} still to be made.",
    ),
    "schedule-edited": Entry(
        severity="warns",
        text="schedule.csv was changed after the seal. The sealed list is what counts.",
    ),
    "seal-broken": Entry(
        severity="limits",
        text="The sealed texts do not give the fingerprint that was sealed with them.",
    ),
    "sealed-twice": Entry(
        severity="warns", text="The plan was sealed {count:time|times}. The first seal is what counts."
    ),
    "set-aside-taken-back": Entry(
        severity="fine",
        text="{count:launch was|launches were} set aside first and counted after all ({numbers}).",
    ),
    "set-aside-twice": Entry(
        severity="fine",
        text="{count:launch was|launches were} set aside for two causes ({numbers}); the first stands.",
    ),
    "set-up-otherwise": Entry(
        severity="warns",
        text="Rig set-up {number} was {done}, not {planned}. Its launches count as what was done.",
    ),
    "set-up-twice": Entry(
        severity="warns",
        text="Rig set-ups recorded more than once, and otherwise: {names}. The first record stands.",
    ),
    "stopped-and-at-least": Entry(
        severity="warns",
        text="{count:launch is|launches are} recorded both as stopped and as still gliding ({numbers}).",
    ),
    "study-edited": Entry(
        severity="warns", text="study.toml was changed after the seal. The sealed text is what counts."
    ),
    "treatment-otherwise": Entry(
        severity="limits",
        text="{preparation} was given {done}, not {planned}. Its launches count as what was done.",
    ),
    "unknown-records": Entry(
        severity="limits",
        text="{count:record is|records are} of a kind that this version does not know ({kinds}); not used. A "
        "newer version may read them.",
    ),
    "unread": Entry(
        severity="warns",
        text="{count:reading|readings} could not be understood and will not count until corrected "
        "({numbers}).",
    ),
    "unusable": Entry(
        severity="limits",
        text="{count:reading|readings} cannot be compared with the others: in another unit, or not above "
        "nought ({numbers}). Nothing of that counts.",
    ),
    "voids-for-other-reasons": Entry(
        severity="warns",
        text="{count:launch was|launches were} set aside for reasons that were not stated before the seal: "
        "{reasons}.",
    ),
    "voids-with-value-seen": Entry(
        severity="limits",
        text="{count:launch was|launches were} set aside by somebody who knew the distance ({numbers}).",
    ),
    "voids-value-perhaps-seen": Entry(
        severity="warns",
        text="{count:launch was|launches were} set aside without a clear word on whether the distance was "
        "known ({numbers}).",
    ),
}


def departure(code: str, *, severity: Severity | None = None, **facts: object) -> Departure:
    """Make a departure from the catalogue.

    Parameters
    ----------
    code : str
        Key of `DEPARTURES`.
    severity : {"limits", "warns", "fine"}, optional
        Default: the catalogue's.
    **facts
        Values for the sentence; kept with it.

    Returns
    -------
    Departure
    """
    entry = DEPARTURES[code]
    spoken = {name: runs(fact) if _all_whole(fact) else fact for name, fact in facts.items()}
    return Departure(
        code=code,
        severity=severity or entry.severity,
        facts=facts,
        text=sentence(agreeing(entry.text, facts), spoken),
    )


def gravest_first(departures: Iterable[Departure]) -> tuple[Departure, ...]:
    """Sort departures by weight; those of one weight stay in their order."""
    return tuple(sorted(departures, key=lambda one: GRAVEST_FIRST.index(one.severity)))


def runs(numbers: Iterable[int]) -> str:
    """Write numbers in order, neighbours drawn together, not more than eight pieces.

    Examples
    --------
    >>> runs((3, 4, 5, 9, 11, 12))
    '3 to 5, 9, 11, 12'
    """
    pieces: list[list[int]] = []
    for number in sorted(set(numbers)):
        if pieces and number == pieces[-1][-1] + 1:
            pieces[-1].append(number)
        else:
            pieces.append([number])
    words = [
        f"{piece[0]} to {piece[-1]}" if len(piece) > SHORT_RUN else ", ".join(map(str, piece))
        for piece in pieces[:SHOWN_RUNS]
    ]
    rest = sum(len(piece) for piece in pieces[SHOWN_RUNS:])
    return ", ".join(words) + (f" and {rest} more" if rest else "")


def _all_whole(fact: object) -> TypeGuard[tuple[int, ...]]:
    return isinstance(fact, tuple) and all(isinstance(part, int) for part in fact)
