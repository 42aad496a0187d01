from __future__ import annotations

import io

from fontTools.ttLib import TTFont

from evenglide.report.look import FONT
from evenglide.report.typeface import ALWAYS, cut_weights, subset_font


def test_the_cut_holds_what_the_page_says_and_little_more() -> None:
    cut = subset_font("Größe ∞ 漢")
    font = TTFont(io.BytesIO(cut))
    known = set(font.getBestCmap())
    assert {ord(character) for character in "Größe"} <= known
    assert {ord(character) for character in ALWAYS} <= known
    assert ord("漢") not in known  # the typeface lacks it; the reader's own fonts have to do
    assert len(known) < 140
    assert len(cut) < 40_000


def test_all_weights_of_the_page_are_in_one_file() -> None:
    font = TTFont(io.BytesIO(subset_font("a")))
    assert font.flavor == "woff2"
    assert [(axis.axisTag, axis.minValue, axis.maxValue) for axis in font["fvar"].axes] == [
        ("wght", 400, 600)
    ]


def test_figures_have_one_width() -> None:
    font = TTFont(io.BytesIO(subset_font("")))
    names = font.getBestCmap()
    assert len({font["hmtx"][names[ord(digit)]][0] for digit in "0123456789"}) == 1


def test_same_text_same_bytes() -> None:
    assert subset_font("snow") == subset_font("wons")


def test_cut_weights_are_members_of_the_family() -> None:
    for name, content in cut_weights().items():
        font = TTFont(io.BytesIO(content))
        assert "fvar" not in font
        assert str(font["OS/2"].usWeightClass) == name.removesuffix(".ttf")
        assert (font["name"].getDebugName(16) or font["name"].getDebugName(1)).startswith(FONT)
