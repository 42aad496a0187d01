"""The page on the study knows every key of the document, table by table, and no other."""

from __future__ import annotations

import re

import pytest

from evenglide.study.document_models import TABLES, keys_of
from tests.house.tree import ROOT

PAGE = ROOT / "docs" / "study.md"


def described(section: str) -> list[str]:
    """Keys in the first cells of the table of one section."""
    text = PAGE.read_text(encoding="utf-8").partition(f"\n## {section}\n")[2].partition("\n## ")[0]
    return re.findall(r"^\| `(\w+)` \|", text, re.MULTILINE)


@pytest.mark.parametrize("path", [path for path in TABLES if path])
def test_each_key_is_described_in_order(path: tuple[str, ...]) -> None:
    assert described(path[-1]) == keys_of(TABLES[path])


def test_each_table_has_a_section() -> None:
    headings = re.findall(r"^## (\w+)$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    tables = [path[-1] for path in TABLES if path]
    assert headings == ["format", *tables, "x"]
