"""What the laptop's pages show and do: one function for each, plain values for a template."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from typing import Any

from evenglide.errors import EvenglideError, Problem
from evenglide.fieldlog.bodies import Condition, Read, Session
from evenglide.fieldlog.day import NEEDS_NO_READING, NOT_MADE, OPEN, Day
from evenglide.fieldlog.oddities import FAR, FEWEST_OTHERS
from evenglide.intake.typed_list import asked_twice, typed_sheet
from evenglide.report.day_words import (
    TO_TAKE_IN,
    drift_words,
    far_words,
    next_step,
    pace_words,
    scatter_words,
    unread_words,
)
from evenglide.report.paper_sheet import cause_letter
from evenglide.show.numbers import count
from evenglide.steps.answer import answer_folder, report_page, study_answer_in_rows
from evenglide.steps.desk import Desk
from evenglide.steps.serve import pair_address
from evenglide.steps.take_in import taken_in_words

MOST_CONDITIONS = 1000
"""The latest ones that are listed."""
ACTIONS = {"morning": ("/phones", "Pair a phone"), "done": ("/answer", "Read the answer")}
THE_DAY = ("/day", "See the day so far")
FROM_PAPER = ("/keying", "Type in from paper")
OF_LAUNCH = re.compile(r"launch (\d+) ")


def home(desk: Desk) -> dict[str, Any]:
    """Say where the study stands."""
    desk.catch_up()
    day = desk.day()
    return {
        "made": _made(day),
        "planned": day.planned,
        "next_step": next_step(day),
        "action": FROM_PAPER if next_step(day) == TO_TAKE_IN else ACTIONS.get(day.state, THE_DAY),
        "fingerprint": desk.plan["study"],
    }


def day_so_far(desk: Desk) -> dict[str, Any]:
    """Say how the day goes; nothing of treatments."""
    met = desk.catch_up()
    day, going = desk.day(), desk.so_far()
    launches = [one for one in desk.plan["launches"] if one["kind"] == "launch"]
    told_in = {"scale": desk.sealed.study.scale, "unit": desk.plan["unit"]}
    surfaces = []
    for surface in desk.plan["surfaces"]:
        name = surface["name"]
        here = [one["number"] for one in launches if one["surface"] == name]
        found = going.surfaces.get(name)
        surfaces.append(
            {
                "surface": name,
                "planned": len(here),
                "made": sum(day.marks[number] not in NOT_MADE for number in here),
                "read": found.read if found else 0,
                "scatter": scatter_words(found.scatter if found else None, **told_in),
                "drift": drift_words(found.drift_per_ten if found else None, **told_in),
            }
        )
    return {
        "met": met,
        "headline": f"{_made(day)} of {count(day.planned, 'launch', 'launches')} made",
        "next_step": next_step(day),
        "far": [
            {"words": far_words(one, unit=desk.plan["unit"]), "record": desk.place_of(one.reading.event)}
            for one in going.far
        ],
        "gaps": desk.gaps(),
        "surfaces": surfaces,
        "pace": list(pace_words(going.pace)),
        "unread": unread_words(day),
        "latest": [
            f"{one['words']}{' Taken back.' if one['withdrawn'] else ''}" for one in desk.told(newest=8)
        ],
    }


def _made(day: Day) -> int:
    return sum(mark not in NOT_MADE for mark in day.marks.values())


def conditions(desk: Desk) -> list[str]:
    """List what was written down of the place, with how each outing began, the newest first."""
    kinds = (model.model_fields["kind"].default for model in (Condition, Session))
    told = [one for kind in kinds for one in desk.told(newest=MOST_CONDITIONS, kind=kind)]
    told.sort(key=lambda one: int(one["arrival"]), reverse=True)
    return [str(one["now"] or one["words"]) for one in told if not one["withdrawn"]]


def add_condition(desk: Desk, *, name: str, value: str, unit: str, words: str) -> None:
    """Write a condition down; what is no number is kept as words, with its unit."""
    number = _number(value)
    spoken = [words] if words else []
    if value.strip() and number is None:
        spoken.insert(0, f"{value.strip()} {unit}".strip())
    desk.record(Condition(name=name, value=number, unit=unit or None, words=", ".join(spoken)))


def phones(desk: Desk) -> list[dict[str, Any]]:
    """List the phones, with when each was heard of last."""
    return [
        {
            "name": one.name,
            "since": one.since[:16].replace("T", " "),
            "heard": desk.heard.get(one.name, "never"),
            "revoked": one.revoked,
        }
        for one in desk.pairings.phones
    ]


def pair_phone(desk: Desk, name: str, *, address: str) -> str:
    """Pair a phone; return the address that it opens."""
    return pair_address(desk.pairings, name, address=address)


def code_of(address: str) -> str:
    """Draw an address as a code to scan, as SVG."""
    import segno

    made: str = segno.make(address, error="m").svg_inline(
        scale=5, border=2, dark="#17252d", light="#ffffff", title="Code to scan", omitsize=True
    )
    return made


def keying(desk: Desk) -> dict[str, Any]:
    """Prepare the page for a list on paper: its rows, and which of them are asked for twice."""
    desk.catch_up()
    day = desk.day()
    rows = [
        {
            "number": one["number"],
            "gear": f"{one['item']} {one['tag']}".strip(),
            "surface": one["surface"],
            "kind": "" if one["kind"] == "launch" else one["kind"],
            "known": "" if day.marks[one["number"]] in OPEN else day.marks[one["number"]],
        }
        for one in desk.plan["launches"]
        if one["kind"] not in NEEDS_NO_READING
    ]
    read = desk.so_far().read
    waiting = OPEN | {"made"}
    left = [
        place
        for place, one in enumerate(rows)
        if day.marks[one["number"]] in waiting or one["number"] in day.unread
    ]
    begin = left[0] if left else len(rows)
    return {
        "earlier": rows[:begin],
        "rows": rows[begin:],
        "sample": asked_twice(desk.plan),
        "first": rows[begin]["number"] if left else "",
        "recorded": {one["name"]: list(read.get(one["name"], ())) for one in desk.plan["surfaces"]},
        "far": FAR,
        "fewest": FEWEST_OTHERS,
        "causes": [
            {"letter": cause_letter(place), "words": words}
            for place, words in enumerate(desk.plan["void_reasons"])
        ],
        "gear": desk.plan["gear"],
        "response": desk.plan["response"],
        "unit": desk.plan["unit"],
    }


def take_typed(desk: Desk, typed: Mapping[str, str]) -> str:
    """Take in what was typed from paper, as a list of the same rows would be.

    Raises
    ------
    EvenglideError
        What cannot be understood, all of it; nothing was written then.
    """
    sheet = typed_sheet(desk.plan, typed)
    if sheet is None:
        return "Nothing was typed; nothing was written."
    return taken_in_words(desk.take_in_list(sheet, source="What was typed"))


def told_of_typed(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Tell what is wrong with what was typed, each with the launch where it stands."""
    told = []
    for one in problems:
        found = OF_LAUNCH.match(one.where)
        told.append(
            {
                "number": int(found[1]) if found else None,
                "here": f"found {one.found}; expected {one.expected}.",
                "words": f"{one.where}: found {one.found}; expected {one.expected}.",
            }
        )
    return told


def clip(desk: Desk) -> dict[str, Any]:
    """Prepare the page that reads a clip: launches that wait for a reading first."""
    desk.catch_up()
    day = desk.day()
    unread = set(day.unread)
    surfaces = {one["name"]: one for one in desk.plan["surfaces"]}
    launches = sorted(desk.plan["launches"], key=lambda one: (one["number"] not in unread, one["number"]))
    listed_launches = [
        {
            "number": one["number"],
            "gear": f"{one['item']} {one['tag']}".strip(),
            "surface": one["surface"],
            "after": surfaces[one["surface"]]["after_s"],
            "known": "" if day.marks[one["number"]] in ("unmade", "landed") else day.marks[one["number"]],
        }
        for one in launches
        if one["kind"] not in NEEDS_NO_READING
    ]
    return {"launches": listed_launches, "unit": desk.plan["unit"] or "m"}


def keep_clip_reading(desk: Desk, launch: int, *, text: str, uncertainty: str, reader: str, clip: str) -> str:
    """Keep a reading from a clip; one that is no number is kept as it was written."""
    value = _number(text)
    desk.record(
        Read(
            launch=launch,
            text=text,
            value=value,
            unread=value is None,
            unit=desk.plan["unit"],
            reader=reader,
            method=f"clip {clip}".strip(),
            uncertainty=_number(uncertainty),
        )
    )
    return f"Launch {launch}: {text} {desk.plan['unit'] or ''} is kept."


def answer(folder: str) -> dict[str, Any]:
    """Answer in words, each under its name, or say why not yet."""
    try:
        answered = answer_folder(folder)
    except EvenglideError as error:
        told = " ".join(map(_why_not, error.problems))
        return {"headline": "No answer yet", "problem": told, "rows": []}
    headline, pairs = study_answer_in_rows(answered)
    rows: list[tuple[str, list[str]]] = []
    for name, text in pairs:
        if name:
            rows.append((name, [text]))
        elif text and rows:
            rows[-1][1].append(text)
    return {"headline": headline, "problem": "", "rows": rows}


def _why_not(problem: Problem) -> str:
    if problem.code != "too-early":
        return str(problem)
    return (
        f"{problem.found[:1].upper()}{problem.found[1:]}; {problem.expected}. If the study has to end here, "
        "evenglide answer --early answers all the same, and the log records that somebody looked."
    )


def report(folder: str) -> str | None:
    """Write the whole report; None where it has to wait or there is none yet."""
    try:
        answered = answer_folder(folder)
    except EvenglideError:
        return None
    return report_page(answered, folder)


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().replace(",", ".").replace("\N{MINUS SIGN}", "-"))
    except ValueError:
        return None
    return value if math.isfinite(value) else None
