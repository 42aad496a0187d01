"""The list of launches on paper, as PDF: the same numbers as on the phone, boxes to fill in by hand.

What people typed goes in as data, never as markup. The same plan gives the same bytes. The document is
tagged for readers who listen (PDF/UA-1). A name in a script that our typeface lacks is drawn with what this
machine has; if that has none either, without that promise rather than not at all.
"""

from __future__ import annotations

import json
import re
import string
import textwrap
from collections.abc import Callable, Iterator, Mapping
from importlib.resources import as_file, files
from itertools import groupby
from typing import Any

from evenglide.fieldlog.day import NEEDS_NO_READING
from evenglide.report.typeface import PACKAGE
from evenglide.show.numbers import count, duration

FOR_READERS = "ua-1"
TRIES: tuple[tuple[bool, str | list[str]], ...] = ((True, FOR_READERS), (False, FOR_READERS), (False, []))
"""Our typeface alone; with those of this machine, for scripts that ours lacks; and without that promise."""
SHORT = 12
LONG_WORD = re.compile(r"\S{14}(?=\S)")
BREAK = "\u200b"
"""Where a word that is too long for its box may go on in the next line, without a hyphen of ours."""
MOST_IN_FOOTER = 90
MOST_TO_CIRCLE = 6
"""Letters of causes that fit a box; with more, a letter is written."""
HOW = (
    "Numbers are those of the sealed list. Nothing is rubbed out: strike through and write beside it.",
    "Write the peg at the launch, read 4 to 6 pegs in one walk, each value spoken back.",
    "Distances are from the release: where the tape does not begin there, take off what it shows there.",
    "Judge whether a launch was clean before anybody reads the tape: circle the cause, and whether its "
    "distance was known by then, no or yes.",
    "Left the lane while gliding: circle at least, and write how far it got.",
    "Grey rows are no part of the comparison: practice is not read, checks are.",
)
KIT = (
    "launcher, anchors, level, lanyard",
    "tape, numbered pegs, hammer, string for the lane",
    "the gear with its tags, treatments, scraper, solvent, cloths, scale",
    "thermometer, pencils, this list in a bag, phone with the field page",
    "first aid, water, gloves, eye protection",
)
"""Common practice, no source."""


def paper_sheet(plan: Mapping[str, Any]) -> bytes:
    """Draw the list of launches for paper.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.

    Returns
    -------
    bytes
        A PDF.
    """
    import typst

    source = files("evenglide.report").joinpath("paper", "sheet.typ").read_bytes()
    draw: Callable[..., object] = typst.compile
    with as_file(files(PACKAGE).joinpath("files")) as fonts:
        given = {
            "font_paths": [str(fonts)],
            "sys_inputs": {"data": json.dumps(sheet_data(plan), ensure_ascii=False)},
            "timestamp": 0,
        }
        made: object = b""
        for ours_alone, standard in TRIES:
            try:
                made = draw(source, **given, ignore_system_fonts=ours_alone, pdf_standards=standard)
            except typst.TypstError as error:
                if "PDF/UA" not in str(error):
                    raise
            else:
                break
    assert isinstance(made, bytes) and made
    return made


def sheet_data(plan: Mapping[str, Any]) -> dict[str, Any]:
    """Arrange a plan as the sheet shows it.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.

    Returns
    -------
    dict
    """
    causes = [
        {"letter": cause_letter(place), "words": words} for place, words in enumerate(plan["void_reasons"])
    ]
    return {
        "title": plan["title"],
        "description": _described(plan),
        "footer": textwrap.shorten(plan["title"], MOST_IN_FOOTER, placeholder=" …"),
        "fingerprint": plan["study"],
        "short": plan["study"][:SHORT],
        "gear": plan["gear"],
        "response": plan["response"],
        "unit": plan["unit"] or "",
        "hidden": plan["hidden"],
        "how": list(HOW),
        "kit": list(KIT),
        "cautions": plan["cautions"],
        "causes": causes,
        "letters": [one["letter"] for one in causes] if len(causes) <= MOST_TO_CIRCLE else [],
        "short_of_time": plan["when_time_is_short"],
        "outings": list(_outings(plan)),
        "key": list(_key(plan)),
    }


def cause_letter(place: int) -> str:
    """Letter of a cause on paper, by its place in the study: A to Z, then A2 to Z2 and so on."""
    turn, letter = divmod(place, len(string.ascii_uppercase))
    return string.ascii_uppercase[letter] + (str(turn + 1) if turn else "")


def _described(plan: Mapping[str, Any]) -> str:
    launches = plan["launches"]
    sizes = (
        (len(launches), "launch", "launches"),
        (len({one["block"] for one in launches}), "round", "rounds"),
        (len({one["surface"] for one in launches}), "surface", "surfaces"),
        (len({one["outing"] for one in launches}), "outing", "outings"),
    )
    return f"List of launches: {', '.join(count(*size) for size in sizes)}"


def _outings(plan: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    surfaces = {one["name"]: one for one in plan["surfaces"]}
    for number, launches in groupby(plan["launches"], key=lambda one: one["outing"]):
        known = plan["outings"][number - 1 : number]
        window = "".join(f"{one['day']}, {one['from']} to {one['to']}" for one in known)
        set_ups = []
        for set_up, here in groupby(launches, key=lambda one: one["set_up"]):
            listed = list(here)
            surface = surfaces[listed[0]["surface"]]
            timed = surface["mark"] == "timed mark" and surface["after_s"]
            set_ups.append(
                {
                    "number": set_up,
                    "round": listed[0]["block"],
                    "surface": surface["name"],
                    "direction": listed[0]["direction"],
                    "timed": f"mark where it is {duration(surface['after_s'])} after release"
                    if timed
                    else "",
                    "launches": [_launch(one) for one in listed],
                }
            )
        yield {"number": number, "window": window, "set_ups": set_ups}


def _launch(launch: Mapping[str, Any]) -> dict[str, Any]:
    kind = "" if launch["kind"] == "launch" else launch["kind"]
    unread = kind in NEEDS_NO_READING
    return {"number": launch["number"], "gear": _gear(launch), "kind": kind, "unread": unread}


def _gear(launch: Mapping[str, Any]) -> str:
    named = f"{launch['item']} · {launch['tag']}" if launch["tag"] else str(launch["item"])
    return LONG_WORD.sub(rf"\g<0>{BREAK}", named)


def _key(plan: Mapping[str, Any]) -> Iterator[dict[str, str]]:
    met = {one["preparation"]: one for one in reversed(plan["launches"])}
    takes = {one["name"]: _takes(one) for one in plan["treatments"]}
    for preparation in dict.fromkeys(one["preparation"] for one in plan["launches"]):
        launch, treatment = met[preparation], plan["key"][preparation]
        yield {
            "round": launch["block"],
            "gear": _gear(launch),
            "treatment": treatment,
            "takes": takes.get(treatment, ""),
        }


def _takes(treatment: Mapping[str, Any]) -> str:
    times = (("work", treatment["hands_on_s"]), ("waiting", treatment["waiting_s"]))
    return ", ".join(f"{duration(seconds)} {what}" for what, seconds in times if seconds)
