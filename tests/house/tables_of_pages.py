"""Small invented tables for the commands that stand in the pages: a hill club's snow sliders."""

from __future__ import annotations

import csv
import io
import math
import random
from pathlib import Path

import openpyxl

Row = tuple[str, ...]

ROUNDS = 6
LAUNCHES = 3
TRUE_EFFECT = {"cold powder": 0.10, "wet snow": 0.0}
TYPICAL = {"cold powder": 3.2, "wet snow": 6.4}
OUTSIDE = {"cold powder": (3.2, -0.01), "wet spring snow": (5.8, 0.19)}
"""Typical distance, and what a treatment does to its logarithm, where a list was filled in."""
FULL = (
    "launch",
    "day",
    "round",
    "slider",
    "coat",
    "treatment",
    "surface",
    "mark",
    "way",
    "distance_m",
    "at_least",
    "set_aside",
)
SHORT = ("launch", "round", "slider", "coat", "treatment", "surface", "mark", "distance_m")


def write_tables(folder: Path) -> None:
    """Write every table that a page names."""
    header, rows = full_table()
    (folder / "launches.csv").write_text(as_csv(header, rows), encoding="utf-8")
    (folder / "my-launches.csv").write_text(as_csv(*short_table()), encoding="utf-8")
    german = [(row[2], row[5], row[9].replace(".", ",")) for row in launches()]
    (folder / "german.csv").write_text(as_csv(("runde", "belag", "weite"), german, ";"), encoding="utf-8")
    old = [(row[9], row[5].replace("rub", "rub à la club")) for row in launches()]
    (folder / "old.csv").write_text(as_csv(("distance_m", "treatment"), old), encoding="cp1252")
    broken = [("3.1 m", "bare"), ("", "rub"), ("3.4", "")]
    (folder / "broken.csv").write_text(as_csv(("distance_m", "treatment"), broken), encoding="utf-8")
    write_workbook(folder / "launches.xlsx", header, rows)


def launches() -> list[Row]:
    """Two preparations in a round, launched in turn on both surfaces; columns as in `FULL`."""
    rng = random.Random(2026)
    rows: list[Row] = []
    for number in range(1, ROUNDS + 1):
        rubbed_first = number % 3 == 0
        coats = {slider: rng.gauss(0, 0.02) for slider in (0, 1)}
        for surface in sorted(TYPICAL, reverse=number % 2 == 0):
            for launch in range(2 * LAUNCHES):
                slider = (launch + 1) // 2 % 2
                rubbed = rubbed_first == (slider == 0)
                log = coats[slider] + rubbed * TRUE_EFFECT[surface] + rng.gauss(0, 0.03)
                distance = f"{TYPICAL[surface] * math.exp(log):.2f}"
                place = (
                    str(len(rows) + 1),
                    f"2026-01-{9 + number // 2:02d}",
                    str(number),
                    f"slider {slider + 1}",
                )
                treated = (f"{number}{'ab'[slider]}", "paraffin rub" if rubbed else "bare")
                way = "out" if launch < LAUNCHES else "back"
                rows.append((*place, *treated, surface, "run-out", way, distance, "", ""))
    return rows


def full_table() -> tuple[Row, list[Row]]:
    """A table with every column that can be named."""
    rows = launches()
    rows[5] = (*rows[5][:-1], "nose under the snow")
    rows[20] = (*rows[20][:-2], "yes", "")
    return FULL, rows


def short_table() -> tuple[Row, list[Row]]:
    """Only the columns that a first judgement needs."""
    picked = [FULL.index(name) for name in SHORT]
    return SHORT, [tuple(row[place] for place in picked) for row in launches()]


def as_csv(header: Row, rows: list[Row], separator: str = ",") -> str:
    """Write a table as text."""
    text = io.StringIO()
    csv.writer(text, delimiter=separator, lineterminator="\n").writerows([header, *rows])
    return text.getvalue()


def fill_in(paper: Path, schedule: Path) -> None:
    """Write into a list of launches what an invented day outside gave."""
    rng = random.Random(2026)
    with schedule.open(encoding="utf-8", newline="") as file:
        given = {row["launch"]: (row["preparation"], row["treatment"]) for row in csv.DictReader(file)}
    with paper.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    coats = {coat: rng.gauss(0, 0.02) for coat, _ in sorted(set(given.values()))}
    for row in rows:
        coat, treatment = given[row["launch"]]
        surface = OUTSIDE.get(row["surface"], (6.0, 0.0))
        log = coats[coat] + (treatment != "bare") * surface[1] + rng.gauss(0, 0.03)
        row["distance"] = f"{surface[0] * math.exp(log):.2f}"
        row["reader"] = "Bo"
    rows[6] |= {"distance": "", "set aside": "nose under the snow", "value seen": "no"}
    rows[9] |= {"distance": "", "peg lost": "yes"}
    text = as_csv(tuple(rows[0]), [tuple(row.values()) for row in rows])
    paper.write_text(text, encoding="utf-8")


def write_workbook(path: Path, header: Row, rows: list[Row]) -> None:
    """Write a workbook whose second sheet holds the launches."""
    book = openpyxl.Workbook()
    assert book.active is not None
    book.active.title = "Read me"
    book.active["A1"] = "Invented."
    sheet = book.create_sheet("January")
    sheet.append(header)
    for row in rows:
        sheet.append(
            [float(cell) if name == "distance_m" else cell for name, cell in zip(header, row, strict=True)]
        )
    book.save(path)
