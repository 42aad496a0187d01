"""Every remark an answer can carry has its section on the page about them, and no section is left over."""

from __future__ import annotations

import re

from evenglide.show.catalogue import AUDIT, NOTES
from tests.house.tree import ROOT

PAGE = ROOT / "docs" / "cannot-say.md"
PARTS = ("**Set off**", "**It means**", "**Next time**")
WEIGHT = re.compile(r"`(limits|warns|fine)`")


def sections() -> dict[str, str]:
    """Text of the page by the code that heads it."""
    pieces = re.split(r"^### (\S+)$", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {code: text.partition("\n## ")[0] for code, text in zip(pieces[1::2], pieces[2::2], strict=True)}


def test_each_code_has_its_heading_and_no_heading_is_stale() -> None:
    text = PAGE.read_text(encoding="utf-8")
    headings = re.findall(r"^###\s+(.+)$", text, re.MULTILINE)
    assert len(headings) == len(set(headings))
    assert set(headings) == set(AUDIT) | set(NOTES)


def test_each_section_says_what_sets_it_off_what_it_means_and_what_to_do() -> None:
    lacking = {
        code: missing for code, text in sections().items() if (missing := [p for p in PARTS if p not in text])
    }
    assert lacking == {}


def test_each_section_names_the_usual_weights() -> None:
    wrong = {}
    for code, text in sections().items():
        usual = {catalogue[code].severity for catalogue in (AUDIT, NOTES) if code in catalogue}
        told = set(WEIGHT.findall(text.partition("**Set off**")[0]))
        if not usual <= told:
            wrong[code] = (usual, told)
    assert wrong == {}
