"""What the laptop's pages show and do: one function for each, plain values for a template."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from evenglide.errors import EvenglideError, Problem
from evenglide.fieldlog.bodies import Condition, Read
from evenglide.fieldlog.day import NEEDS_NO_READING
from evenglide.intake.list_columns import LAUNCH
from evenglide.intake.sheet import Record, sheet_from_records
from evenglide.report.paper_sheet import cause_letter
from evenglide.show.numbers import count, duration, listed, percent_change, percent_scatter
from evenglide.steps.answer import answer_folder, report_page, study_answer_in_rows
from evenglide.steps.desk import Desk
from evenglide.steps.serve import pair_address
from evenglide.steps.take_in import taken_in_words

MINUS = "\u2212"
MOST_CONDITIONS = 1000
"""The latest ones that are listed."""
SAMPLE = 10
"""One row of a round in so many is asked for twice (common practice, no source)."""
NEXT_STEPS = {
    "morning": "Next: go outside and begin the outing on the phone.",
    "prepare": "Next: make the gear ready.",
    "set up": "Next: anchor the rig.",
    "ready": "Next: launch.",
    "landed": "Next: say how the launch ended.",
    "read": "Next: read the pegs.",
    "end of coat": "Next: take the coats off.",
    "done": "Next: read the answer.",
}
ACTIONS = {"morning": ("/phones", "Pair a phone"), "done": ("/answer", "Read the answer")}
THE_DAY = ("/day", "See the day so far")
TYPED = ("reading", "cause", "note")
TICKED = {"at_least": "at least", "stopped": "stopped", "lost": "peg lost"}
"""Boxes of the page for paper, and the columns of a list that they fill."""
OF_LAUNCH = re.compile(r"launch (\d+) ")


def home(desk: Desk) -> dict[str, Any]:
    """Say where the study stands."""
    desk.catch_up()
    day = desk.day()
    return {
        "made": day.made,
        "planned": day.planned,
        "next_step": NEXT_STEPS[day.state],
        "action": ACTIONS.get(day.state, THE_DAY),
        "fingerprint": desk.plan["study"],
    }


def day_so_far(desk: Desk) -> dict[str, Any]:
    """Say how the day goes; nothing of treatments."""
    met = desk.catch_up()
    day, going = desk.day(), desk.so_far()
    launches = [one for one in desk.plan["launches"] if one["kind"] == "launch"]
    known = {one["surface"]: one for one in going["surfaces"]}
    surfaces = []
    for surface in desk.plan["surfaces"]:
        name = surface["name"]
        here = [one["number"] for one in launches if one["surface"] == name]
        found = known.get(name, {"read": 0, "scatter": None, "drift_per_ten": None})
        surfaces.append(
            {
                "surface": name,
                "planned": len(here),
                "made": sum(day.marks[number] != "unmade" for number in here),
                "read": found["read"],
                "scatter": _size(desk, found["scatter"]) or "not yet known",
                "drift": _size(desk, found["drift_per_ten"], signed=True) or "not yet known",
            }
        )
    unread = [str(number) for number in day.unread]
    return {
        "met": met,
        "headline": f"{day.made} of {count(day.planned, 'launch', 'launches')} made",
        "next_step": NEXT_STEPS[day.state],
        "next": day.next,
        "gaps": desk.gaps(),
        "surfaces": surfaces,
        "pace": list(_pace(going["pace"])),
        "unread": f"Launches {listed(unread)}." if unread else "Everything that was launched is read.",
        "latest": [
            f"{one['words']}{' Taken back.' if one['withdrawn'] else ''}" for one in desk.told(newest=8)
        ],
    }


def conditions(desk: Desk) -> list[str]:
    """List what was written down of the place."""
    kind = Condition.model_fields["kind"].default
    return [str(one["words"]) for one in desk.told(newest=MOST_CONDITIONS, kind=kind)]


def add_condition(desk: Desk, *, name: str, value: str, unit: str, words: str) -> None:
    """Write a condition down; what is no number is kept as words."""
    number = _number(value)
    spoken = [words] if words else []
    if value.strip() and number is None:
        spoken.insert(0, value.strip())
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
            "known": "" if day.marks[one["number"]] == "unmade" else day.marks[one["number"]],
        }
        for one in desk.plan["launches"]
        if one["kind"] not in NEEDS_NO_READING
    ]
    numbers = [one["number"] for one in rows]
    left = [number for number in numbers if day.marks[number] == "unmade"]
    return {
        "rows": rows,
        "sample": sorted(_sample(desk.plan)),
        "first": left[0] if left else numbers[0],
        "causes": [
            {"letter": cause_letter(place), "words": words}
            for place, words in enumerate(desk.plan["void_reasons"])
        ],
        "gear": desk.plan["gear"],
        "response": desk.plan["response"],
        "unit": desk.plan["unit"],
    }


def _sample(plan: Mapping[str, Any]) -> Iterator[int]:
    """Draw the rows that are asked for twice; some of each round, as a round is what is typed at once."""
    chance = random.Random(plan["study"])
    rounds: dict[str, list[int]] = {}
    for one in plan["launches"]:
        if one["kind"] not in NEEDS_NO_READING:
            rounds.setdefault(one["block"], []).append(one["number"])
    for numbers in rounds.values():
        yield from chance.sample(numbers, math.ceil(len(numbers) / SAMPLE))


def take_typed(desk: Desk, typed: Mapping[str, str]) -> str:
    """Take in what was typed from paper, as a list of the same rows would be.

    Raises
    ------
    EvenglideError
        What cannot be understood, all of it; nothing was written then.
    """
    reader = typed.get("reader", "").strip()
    records: list[Record] = []
    for one in desk.plan["launches"]:
        number = one["number"]
        reading, cause, note = (typed.get(f"{name}-{number}", "").strip() for name in TYPED)
        ticks = ["yes" if typed.get(f"{name}-{number}") else "" for name in TICKED]
        if any((reading, cause, note, *ticks)):
            cells = [str(number), reading, cause, *ticks, note, reader if reading else ""]
            records.append((number, number, cells))
    if not records:
        return "Nothing was typed; nothing was written."
    header = [LAUNCH, desk.plan["response"], "set aside", *TICKED.values(), "note", "reader"]
    # As in a table whose cells a comma does not part: 5,3 can be read in one way only.
    sheet = sheet_from_records([(0, 0, header), *records], kind="typed", separator=";")
    return taken_in_words(desk.take_in_list(sheet, source="What was typed"))


def told_of_typed(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Tell what is wrong with what was typed, each with the launch where it stands."""
    told = []
    for one in problems:
        found = OF_LAUNCH.match(one.where)
        told.append(
            {
                "number": int(found[1]) if found else None,
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


def _pace(pace: Mapping[str, Any]) -> Iterator[str]:
    for surface, one in pace["launch"].items():
        yield f"{surface}: {duration(one['seconds'])} from launch to launch ({count(one['count'], 'time')})"
    moved = pace["set_up"]
    if moved:
        yield f"Moving the rig: {duration(moved['seconds'])} ({count(moved['count'], 'time')})"
    longest = max((one["seconds"] for one in pace["hands_on"].values()), default=0.0)
    if longest:
        yield f"Making a piece of gear ready: up to {duration(longest)} of work"


def _size(desk: Desk, value: float | None, *, signed: bool = False) -> str:
    """Tell a scatter or a drift in the words of the scale."""
    if value is None:
        return ""
    if desk.sealed.study.scale == "ratio":
        told = f"{percent_change(value):+.1f}" if signed else f"{percent_scatter(value):.1f}"
        return f"{told.replace('-', MINUS) if float(told) else '0.0'} %"
    told = f"{value:+.3g}" if signed else f"{value:.3g}"
    return f"{told.replace('-', MINUS)} {desk.plan['unit'] or ''}".strip()


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) else None
