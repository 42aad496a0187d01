"""One table in many clothes: text of every kind, workbook, columns in memory. One answer."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import evenglide
from tests.answer.judging import judged
from tests.answer.scenarios import field_day, flagged, without
from tests.reference_data import columns
from tests.walks.command import answer_of, csv_of, run

Document = dict[str, Any]
FIELD = {
    "surface": "surface",
    "block": "block",
    "preparation": "preparation",
    "item": "item",
    "order": "order",
    "direction": "direction",
    "mark": "mark",
    "session": "session",
    "void": "void",
    "at_least": "at_least",
    "response": "response",
    "treatment": "treatment",
    "matters": "5 %",
}
PUBLISHED: dict[str, Document] = {
    "shoes": {"response": "wear", "treatment": "sole", "block": "boy", "scale": "difference"},
    "tomato": {"response": "pounds", "treatment": "fertiliser", "order": "position", "matters": 5},
    "sleep": {"response": "extra_hours", "treatment": "drug", "block": "patient"},
    "catapult": {"response": "distance_in", "treatment": "bands", "void": "centre", "order": "run"},
    "machines": {"response": "score", "treatment": "machine", "block": "worker", "matters": "5 %"},
}


def field_table() -> dict[str, list[Any]]:
    """Readings to the millimetre: workbooks keep 15 digits."""
    table = flagged(flagged(field_day(), "void", {4: "rig moved"}), "at_least", {9: "yes"})
    return {**table, "response": [round(reading, 3) for reading in table["response"]]}


def write_workbook(path: Path, table: Mapping[str, Sequence[Any]], *, numbers: Sequence[str] = ()) -> Path:
    """Write columns to the second sheet of a workbook; text of number columns becomes numbers."""
    book = openpyxl.Workbook()
    sheet = book.create_sheet("Runs")
    sheet.append(list(table))
    for row in zip(*table.values(), strict=True):
        cells = [
            float(cell) if name in numbers and cell not in (None, "") else cell
            for name, cell in zip(table, row, strict=True)
        ]
        sheet.append([None if cell == "" else cell for cell in cells])
    book.save(path)
    return path


def but_for_the_bytes(document: Document) -> Document:
    """The answer without the fingerprint of what it came from, and without notes on how it came in."""
    copy: Document = json.loads(json.dumps(document))
    copy["provenance"].pop("data_sha256")
    on_the_way = {"sheet-chosen", "decimal-comma", "encoding-by-mark"}
    copy["audit"] = [entry for entry in copy["audit"] if entry["code"] not in on_the_way]
    return copy


def test_text_of_every_kind(tmp_path: Path) -> None:
    table = field_table()
    expected = but_for_the_bytes(judged(table, **FIELD))
    comma, point = csv_of(table), csv_of(table, separator=";")
    quoted = {f'"{name}"': [f'"{cell}"' for cell in cells] for name, cells in table.items()}
    files: dict[str, tuple[bytes, Document]] = {
        "plain.csv": (comma.encode(), {}),
        "windows lines.csv": (comma.replace("\n", "\r\n").encode(), {}),
        "no last line end.csv": (comma.rstrip("\n").encode(), {}),
        "marked.csv": (comma.encode("utf-8-sig"), {}),
        "wide.csv": (comma.encode("utf-16"), {}),
        "unmarked wide.csv": (comma.encode("utf-16-le"), {"encoding": "utf-16-le"}),
        "semicolons.csv": (point.encode(), {}),
        "tabs.tsv": (csv_of(table, separator="\t").encode(), {}),
        "commas.csv": (csv_of(table, separator=";", comma=True).encode(), {}),
        "commas asked for.csv": (csv_of(table, separator=";", comma=True).encode(), {"decimal": ","}),
        "quoted.csv": (csv_of(quoted).encode(), {}),
        "blank lines.csv": (("\n\n" + comma.replace("\n", "\n\n", 3)).encode(), {}),
    }  # fmt: skip
    for name, (content, options) in files.items():
        path = tmp_path / name
        path.write_bytes(content)
        assert but_for_the_bytes(judged(path, **FIELD, **options)) == expected, name


def test_a_workbook(tmp_path: Path) -> None:
    table = field_table()
    expected = but_for_the_bytes(judged(table, **FIELD))
    path = write_workbook(tmp_path / "runs.xlsx", table)
    assert but_for_the_bytes(judged(path, sheet="Runs", **FIELD)) == expected
    renamed = tmp_path / "runs.csv"  # what a file is is told by its bytes
    renamed.write_bytes(path.read_bytes())
    assert but_for_the_bytes(judged(renamed, sheet="Runs", **FIELD)) == expected


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_tables_as_text_workbook_and_columns(name: str, tmp_path: Path) -> None:
    options = PUBLISHED[name]
    text = columns(name)
    number = options["response"]
    in_memory = {**text, number: [float(cell) for cell in text[number]]}
    expected = but_for_the_bytes(judged(in_memory, **options))
    assert but_for_the_bytes(judged(text, **options)) == expected
    path = tmp_path / "table.csv"
    path.write_text(csv_of(text), encoding="utf-8")
    assert but_for_the_bytes(judged(path, **options)) == expected
    numbers = [column for column, cells in text.items() if all(_is_number(cell) for cell in cells)]
    book = write_workbook(tmp_path / "table.xlsx", text, numbers=numbers)
    assert but_for_the_bytes(judged(book, sheet="Runs", **options)) == expected
    flags = [part for key, value in options.items() for part in (f"--{key}", str(value))]
    assert but_for_the_bytes(answer_of(run("judge", path, *flags, "--json"))) == expected


def _is_number(cell: str) -> bool:
    return cell.replace(".", "", 1).removeprefix("-").isdigit()


class Frame:
    """Anything with keys and [] is columns: here one that hands out tuples."""

    def __init__(self, table: Mapping[str, Sequence[Any]]) -> None:
        self._table = table

    def keys(self) -> list[str]:
        return [*self._table, "a column that nobody reads"]

    def __getitem__(self, name: str) -> tuple[Any, ...]:
        return tuple(self._table[name])


def test_other_columns_in_memory() -> None:
    table = without(field_table(), "direction")
    options = {name: value for name, value in FIELD.items() if name != "direction"}
    expected = evenglide.judge(table, **options)
    assert evenglide.judge(Frame(table), **options) == expected


def test_the_same_bytes_have_the_same_fingerprint(tmp_path: Path) -> None:
    table = field_table()
    path = tmp_path / "runs.csv"
    path.write_text(csv_of(table), encoding="utf-8")
    twice = [judged(path, **FIELD) for _ in range(2)]
    assert twice[0] == twice[1]
    path.write_text(csv_of(table) + "\n", encoding="utf-8")
    again = judged(path, **FIELD)
    assert again["provenance"]["data_sha256"] != twice[0]["provenance"]["data_sha256"]
    assert but_for_the_bytes(again) == but_for_the_bytes(twice[0])


@settings(max_examples=25)
@given(
    st.lists(st.floats(0.01, 1e6), min_size=4, max_size=12),
    st.sampled_from([",", ";", "\t"]),
    st.booleans(),
)
def test_any_readings_give_the_same_numbers(readings: list[float], separator: str, comma: bool) -> None:
    table = {
        "response": readings,
        "treatment": [("bare", "wax")[at % 2] for at in range(len(readings))],
        "block": [str(at // 2) for at in range(len(readings))],
    }
    comma = comma and separator != ","
    options: Document = {"decimal": ","} if comma else {}
    expected = but_for_the_bytes(judged(table))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "runs.csv"
        path.write_text(csv_of(table, separator=separator, comma=comma), encoding="utf-8")
        roles = {name: name for name in table}
        assert but_for_the_bytes(judged(path, **roles, **options)) == expected
