"""The main job on invented launches: table, answer, report."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from evenglide.rehearsal.hill_club import invented_table
from evenglide.report.command import judge_command
from evenglide.steps.judge import answer_in_words, judge_table, write_judged
from evenglide.store.pages import new_folder, write_page

SEED = 5
NAME = "Hill club, invented launches"
TITLE = "Does a paraffin rub make the club’s snow sliders go farther? (All numbers invented.)"
OPTIONS = {
    "response": "distance_m",
    "treatment": "treatment",
    "reference": "bare",
    "surface": "surface",
    "block": "round",
    "preparation": "preparation",
    "shared_preparations": True,
    "item": "slider",
    "order": "launch",
    "mark": "mark",
    "session": "day",
    "void": "set_aside",
    "at_least": "at_least",
    "matters": "10 %",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """What the demo made and where: paths, the answer in words, the command that repeats it."""

    table: str
    report: str
    report_address: str
    words: str
    command: str


def play_demo() -> Demo:
    """Invent a table, judge it, write the report; into a new folder here."""
    folder = new_folder("evenglide-demo")
    table, report = folder / "invented-launches.csv", folder / "report.html"
    header, rows = invented_table(SEED)
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([header, *rows])
    write_page(str(table), text.getvalue())
    judged = judge_table(str(table), OPTIONS)
    write_judged(judged, str(report), name=NAME, title=TITLE)
    return Demo(
        table=str(table),
        report=str(report),
        report_address=report.resolve().as_uri(),
        words=answer_in_words(judged),
        command=judge_command(str(table), judged.options),
    )
