"""An invented study of a hill club, small enough for one short day outside."""

from __future__ import annotations

import shutil
from pathlib import Path

from evenglide.plan.table import read_schedule
from evenglide.study.document import read_study
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study
from tests.walks.command import run

STUDY = """\
format = "evenglide.study/1"

[study]
title = "Does a paraffin rub make the club's snow sliders run farther?"
matters = "10 %"
unit = "m"
gear = "slider"

[[treatment]]
name = "bare"
reference = true

[[treatment]]
name = "paraffin rub"
hands_on = "18 min"
waiting = "15 min"

[[item]]
name = "slider 1"

[[item]]
name = "slider 2"

[[surface]]
name = "cold powder"
minutes_per_launch = 2

[[surface]]
name = "melt pan"
mark = "timed mark"
after = "1 s"
minutes_per_launch = 3

[costs]
outings = [{ day = "2026-01-17", from = "08:30", to = "16:30" }]

[voids]
reasons = ["rig moved more than 1 cm", "nose under the snow"]

[blinding]
hidden_from = ["reader"]
"""


def sealed_study(folder: Path, *, blocks: int = 3, launches: int = 2, text: str = STUDY) -> Path:
    """Make, plan and seal the study in a new folder."""
    folder.mkdir()
    (folder / "study.toml").write_text(text, encoding="utf-8")
    planned = run("plan", folder, "--blocks", f"{blocks}", "--launches", f"{launches}", "--seed", "11")
    assert planned.exit_code == 0, planned.output
    sealed = run("seal", folder, "--posted", "the club's notice board (invented)")
    assert sealed.exit_code == 0, sealed.output
    return folder


def copied(folder: Path, name: str) -> Path:
    """Copy a sealed study as it stands, so that two ways home start from the same seal."""
    return Path(shutil.copytree(folder, folder.parent / name))


def planned(folder: Path) -> tuple[Study, Schedule]:
    study = read_study((folder / "study.toml").read_bytes())
    return study, read_schedule((folder / "schedule.csv").read_bytes(), study)


def field_page(folder: Path) -> Path:
    """Write the field page of a sealed study."""
    page = folder / "out" / "phone.html"
    made = run("sheet", folder, "--phone", page) if page.parent.exists() else run("sheet", folder)
    assert made.exit_code == 0, made.output
    return page


def invented_readings(schedule: Schedule) -> dict[int, str]:
    """An invented distance for each launch, to the centimetre: sense enough to be analysed."""
    texts = {}
    for one in schedule.launches:
        rub = 1.12 if one.treatment == "paraffin rub" else 1.0
        ground = 6.1 if one.surface == "cold powder" else 4.3
        wobble = 1 + 0.01 * ((one.number * 7) % 5 - 2) + 0.006 * (int(one.block) % 3)
        texts[one.number] = f"{ground * rub * wobble:.2f}"
    return texts
