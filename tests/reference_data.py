"""Published data and values, as the tests read them."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

REFERENCE = Path(__file__).parent / "reference"


def published(name: str) -> dict[str, Any]:
    """Values of one file, such as ``"two_samples"``."""
    found: dict[str, Any] = json.loads((REFERENCE / f"{name}.json").read_text(encoding="utf-8"))
    return found


def data(name: str) -> Path:
    """Path of a published table, such as ``"shoes"``."""
    return REFERENCE / "data" / f"{name}.csv"


def columns(name: str) -> dict[str, list[Any]]:
    """Return a published table as columns of text."""
    with data(name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {column: [row[column] for row in rows] for column in rows[0]}


def simon_lesage(base: int, replicates: int) -> dict[str, list[Any]]:
    """Write out SmLs01 to SmLs09 of the NIST sets: nine treatments whose means step by 0.1 on a base.

    Each treatment holds its mean once, then as often 0.1 below as 0.1 above. Source: Simon & Lesage
    (1989) Comput. Stat. Data Anal. 8:345-357; the digits are those of the files that NIST publishes.
    """
    tenths = (4, 3, 5, 3, 5, 3, 5, 3, 5)
    lines = [
        (str(number), f"{base}.{digit}")
        for number, mean in enumerate(tenths, start=1)
        for digit in (mean, *(mean - 1, mean + 1) * ((replicates - 1) // 2))
    ]
    return {"treatment": [name for name, _ in lines], "response": [float(text) for _, text in lines]}


def kept_days() -> list[dict[str, Any]]:
    """Days outside with what they come to, for every language that replays them."""
    kept = json.loads((REFERENCE.parent / "vectors" / "days.json").read_text(encoding="utf-8"))
    return [{**day, "plan": kept["plans"][day["plan"]]} for day in kept["days"]]
