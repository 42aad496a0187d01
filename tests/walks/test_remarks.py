"""What is noticed on the way in reaches the answer, in whole sentences."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.walks.command import PLAIN, answer_of, run

ROWS = ["bare;2.91;1;a;;", "wax;3.12;1;b;;", "bare;2.5;2;c;;", "wax;2.75;2;d;;"]
HEAD = "rub;glide_m;round;coat;out;wall"
EVERYTHING = (*PLAIN, "--block", "round", "--preparation", "coat", "--void", "out", "--at-least", "wall")


def table(*rows: str) -> str:
    return "\n".join([HEAD, *ROWS, *rows, ""])


CASES: dict[str, tuple[bytes, tuple[str, ...], dict[str, Any]]] = {
    "names-alike": (table("Bare;2.8;3;e;;", "w ax;2.9;3;f;;").encode(), (), {"column": "rub"}),
    "label-reused": (table("bare;2.8;3;a;;", "wax;2.9;3;b;;").encode(), (), {"labels": 2}),
    "decimal-comma": (table().replace(".", ",").encode(), (), {"column": "glide_m"}),
    "flag-read-as-yes": (table("bare;2.8;3;e;n;").encode(), (), {"text": "n", "rows": 1}),
    "void-and-at-least": (table("bare;2.8;3;e;moved;1").encode(), (), {"rows": 1}),
    "encoding-by-mark": (
        table().encode("utf-16"),
        ("--encoding", "cp1252"),
        {"encoding": "utf-16", "asked": "cp1252"},
    ),
}


@pytest.mark.parametrize("code", CASES)
def test_what_was_noticed_is_in_the_audit(code: str, tmp_path: Path) -> None:
    content, options, facts = CASES[code]
    path = tmp_path / "runs.csv"
    path.write_bytes(content)
    document = answer_of(run("judge", path, *EVERYTHING, *options, "--json"))
    (entry,) = [each for each in document["audit"] if each["code"] == code]
    assert facts.items() <= entry["facts"].items()
    for fact in facts.values():
        assert str(fact) in entry["text"]


def test_a_sheet_chosen_among_several(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    first = book.active
    assert first is not None
    first.title = "Saturday"
    for sheet in (first, book.create_sheet("Sunday")):
        for line in [HEAD, *ROWS]:
            cells = line.split(";")
            sheet.append([float(cell) if cell[:1].isdigit() and "." in cell else cell for cell in cells])
    path = tmp_path / "runs.xlsx"
    book.save(path)
    document = answer_of(run("judge", path, *EVERYTHING, "--json"))
    (entry,) = [each for each in document["audit"] if each["code"] == "sheet-chosen"]
    assert "Saturday" in entry["text"]
    document = answer_of(run("judge", path, *EVERYTHING, "--sheet", "Sunday", "--json"))
    assert "sheet-chosen" not in [each["code"] for each in document["audit"]]


def test_a_clean_table_has_no_remark_on_the_way_in(tmp_path: Path) -> None:
    path = tmp_path / "runs.csv"
    path.write_text(table(), encoding="utf-8")
    document = answer_of(run("judge", path, *EVERYTHING, "--json"))
    assert not {*CASES, "sheet-chosen"} & {each["code"] for each in document["audit"]}
