"""The list of launches on paper, as PDF: the same numbers as on the phone, boxes to fill in by hand.

What people typed goes in as data, never as markup. The same plan gives the same bytes.
"""

from __future__ import annotations

import json
import string
from collections.abc import Callable, Iterator, Mapping
from importlib.resources import as_file, files
from itertools import groupby
from typing import Any

from evenglide.report.typeface import PACKAGE
from evenglide.show.numbers import duration

SHORT = 12
HOW = (
    "Numbers are those of the sealed list. Nothing is rubbed out: strike through and write beside it.",
    "Write the peg at the launch, read 4 to 6 pegs in one walk, each value spoken back.",
    "Judge whether a launch was clean before anybody reads the tape.",
    "Left the lane while gliding: tick at least, and write how far it got.",
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
    with as_file(files(PACKAGE).joinpath("files")) as fonts:
        draw: Callable[..., object] = typst.compile
        made = draw(
            source,
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(sheet_data(plan), ensure_ascii=False)},
            timestamp=0,
        )
    assert isinstance(made, bytes)
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
    causes = zip(string.ascii_uppercase, plan["void_reasons"], strict=False)
    return {
        "title": plan["title"],
        "fingerprint": plan["study"],
        "short": plan["study"][:SHORT],
        "gear": plan["gear"],
        "response": plan["response"],
        "unit": plan["unit"] or "",
        "hidden": plan["hidden"],
        "how": list(HOW),
        "kit": list(KIT),
        "cautions": plan["cautions"],
        "causes": [{"letter": letter, "words": words} for letter, words in causes],
        "short_of_time": plan["when_time_is_short"],
        "outings": list(_outings(plan)),
        "key": list(_key(plan)),
    }


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
    return {"number": launch["number"], "gear": _gear(launch), "kind": kind}


def _gear(launch: Mapping[str, Any]) -> str:
    return f"{launch['item']} · {launch['tag']}" if launch["tag"] else str(launch["item"])


def _key(plan: Mapping[str, Any]) -> Iterator[dict[str, str]]:
    met = {one["preparation"]: one for one in reversed(plan["launches"])}
    for preparation in dict.fromkeys(one["preparation"] for one in plan["launches"]):
        launch = met[preparation]
        yield {"round": launch["block"], "gear": _gear(launch), "treatment": plan["key"][preparation]}
