"""The list on paper: the numbers of the plan, boxes for a wet hand, nothing that is not for all eyes."""

from __future__ import annotations

import copy
import io
import itertools
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageStat

from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.report.paper_sheet import HOW, KIT, paper_sheet, sheet_data
from evenglide.study.cautions import usual_cautions
from tests.field.studies import planned, sealed_study

FINGERPRINT = "0123456789abcdef" * 4
MM = 72 / 25.4
TALLEST_GLOVE_MM = 13.0
HARSH = "#set page(width: 2cm) [*$x$*] _a_ <b onclick=1>&amp; // @y `z` \\u{41} ~ #panic()"


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = sealed_study(tmp_path_factory.mktemp("paper") / "study")
    study, schedule = planned(folder)
    return phone_plan(study, schedule, fingerprint=FINGERPRINT)


def pages(pdf: bytes) -> list[str]:
    """Text of each page, with single spaces."""
    document = pdfium.PdfDocument(pdf)
    texts = [page.get_textpage().get_text_bounded() for page in document]
    # A hyphen of the text that ends a line comes as this sign; the other is where a long word may break.
    return [" ".join(text.replace("\x02", "-").replace("\u200b", "").split()) for text in texts]


def strokes(pdf: bytes, number: int) -> list[tuple[float, float, float, float]]:
    """Boxes that are drawn on a page, as left, bottom, right, top. [mm]."""
    page = pdfium.PdfDocument(pdf)[number]
    found = [thing.get_bounds() for thing in page.get_objects() if thing.type == 2]
    return [tuple(side / MM for side in box) for box in found]  # type: ignore[misc]


def with_launches(plan: Mapping[str, Any], launches: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Plan with other launches, numbered anew, and surfaces that they need."""
    made = copy.deepcopy(dict(plan))
    made["launches"] = [{**one, "number": place} for place, one in enumerate(launches, start=1)]
    made["key"] = {one["preparation"]: "bare" for one in launches}
    like = made["surfaces"][0]
    made["surfaces"] = [{**like, "name": name} for name in dict.fromkeys(one["surface"] for one in launches)]
    return made


def numbered_rows(text: str) -> list[int]:
    """Launch numbers in front of a row's gear."""
    return [int(number) for number in re.findall(r"(\d+) slider \d", text)]


def test_each_launch_of_the_plan_has_its_row_in_order_with_its_gear(plan: dict[str, Any]) -> None:
    listed = pages(paper_sheet(plan))[1:-1]
    rows = [found for text in listed for found in re.findall(r"(\d+) (slider \d) · (•+ \w+)", text)]
    expected = [(str(one["number"]), one["item"], one["tag"]) for one in plan["launches"]]
    assert rows == expected and len(rows) == 24


def test_each_set_up_says_where_and_what_is_measured(plan: dict[str, Any]) -> None:
    text = " ".join(pages(paper_sheet(plan)))
    for one in plan["launches"]:
        assert f"Round {one['block']} · {one['surface']} · {one['direction']}" in text
    assert text.count("mark where it is 1 s after release") == 3
    assert text.count("Tape at release (m)") == 6 and text.count("Look of the surface, wind") == 6
    assert "take off what it shows there" in " ".join(text.split())


def test_the_first_page_holds_all_that_has_to_be_known_outside(plan: dict[str, Any]) -> None:
    first = pages(paper_sheet(plan))[0]
    assert "24 launches, 3 rounds, 2 surfaces, 1 outing" in first
    assert FINGERPRINT in first
    for cause in ("A rig moved more than 1 cm", "B nose under the snow"):
        assert cause in first
    for line in (*HOW, *KIT, *plan["cautions"], plan["when_time_is_short"]):
        assert " ".join(line.split()) in first, line


def test_cautions_are_those_of_the_study(plan: dict[str, Any], tmp_path: Path) -> None:
    study, _ = planned(sealed_study(tmp_path / "study"))
    assert sheet_data(plan)["cautions"] == list(usual_cautions(study))


def test_hidden_treatments_stand_on_the_key_alone_and_never_on_the_back_of_a_list(
    plan: dict[str, Any],
) -> None:
    *before, key = pages(paper_sheet(plan))
    # The question itself names its treatment; nothing else may.
    shown = " ".join(before).replace(plan["title"], "")
    for name in ("paraffin rub", "bare "):
        assert name not in shown
    told = re.findall(r"(\d) (slider \d) · (•+ \w+) (bare|paraffin rub)", key)
    assert told == [
        (one["block"], one["item"], one["tag"], plan["key"][preparation])
        for preparation in plan["key"]
        for one in [next(each for each in plan["launches"] if each["preparation"] == preparation)]
    ]
    assert len(before) % 2 == 0, "printed on both sides, the key is a sheet of its own"
    assert "may not see it" in key and "18 min work, 15 min waiting" in key


def test_without_hiding_no_sheet_is_kept_apart(plan: dict[str, Any]) -> None:
    open_plan = {**plan, "hidden": False, "launches": [{**one, "tag": ""} for one in plan["launches"]]}
    texts = pages(paper_sheet(open_plan))
    assert "may not see it" not in texts[-1] and "slider 1 ·" not in " ".join(texts)


def test_boxes_are_large_enough_for_a_wet_hand(plan: dict[str, Any]) -> None:
    pdf = paper_sheet(plan)
    edges = strokes(pdf, 1)
    upright = [top - bottom for left, bottom, right, top in edges if right - left < 1]
    cells = sorted(round(height, 1) for height in upright)
    assert cells and cells[0] >= TALLEST_GLOVE_MM
    page = pdfium.PdfDocument(pdf)[1]
    text = page.get_textpage()
    places = [text.search(f"{number} slider") for number in ("1", "2", "3", "4")]
    tops = []
    for place in places:
        index, _ = place.get_next()
        tops.append(text.get_charbox(index)[3] / MM)
    steps = [above - below for above, below in itertools.pairwise(tops)]
    assert all(TALLEST_GLOVE_MM <= step < 15 for step in steps)


def test_what_was_typed_is_text_never_markup(plan: dict[str, Any]) -> None:
    harsh = copy.deepcopy(plan)
    harsh["title"] = harsh["gear"] = harsh["response"] = HARSH
    harsh["void_reasons"] = [HARSH]
    harsh["cautions"] = [HARSH]
    harsh["launches"][0] |= {"item": HARSH, "tag": HARSH}
    harsh["surfaces"][0]["name"] = HARSH
    for one in harsh["launches"]:
        one["surface"] = HARSH if one["surface"] == "cold powder" else one["surface"]
    pdf = paper_sheet(harsh)
    pressed = re.sub(r"\s", "", " ".join(pages(pdf)))
    assert pressed.count(re.sub(r"\s", "", HARSH)) >= 8
    sizes = {tuple(round(side) for side in page.get_size()) for page in pdfium.PdfDocument(pdf)}
    assert sizes == {(595, 842)}


def test_nothing_that_was_typed_is_cut_at_the_edge_of_the_page(plan: dict[str, Any]) -> None:
    long = copy.deepcopy(plan)
    long["title"] = "Does " + "an uncommonly thorough paraffin rub " * 6 + "help?"
    for one in long["launches"]:
        one["item"] = "Großmutters-Rodelschlittenuntersatz-mit-Stahlkufen-Nummer-7 of the second shed"
        one["surface"] = "the wind-pressed crust above the old quarry that never quite thaws"
    long["surfaces"] = [{**long["surfaces"][0], "name": long["launches"][0]["surface"]}]
    pdf = paper_sheet(long)
    for page in pdfium.PdfDocument(pdf):
        picture = page.render(scale=1).to_pil().convert("L")
        wide, high = picture.size
        margin = round(11 * MM)
        for edge in ((0, 0, margin, high), (wide - margin, 0, wide, high)):
            assert ImageStat.Stat(picture.crop(edge)).extrema == [(255, 255)]
    text = re.sub(r"[\s-]", "", " ".join(pages(pdf)))
    assert text.count("GroßmuttersRodelschlittenuntersatzmitStahlkufenNummer7ofthesecondshed") >= 24
    assert in_peg_boxes(pdf) == ""


def in_peg_boxes(pdf: bytes) -> str:
    """Letters that run from the gear's column into the boxes for the peg, 68 to 85 mm from the left."""
    text = pdfium.PdfDocument(pdf)[1].get_textpage()
    index, _ = text.search("peg distance").get_next() or text.search("peg").get_next()
    _, bottom, _, _ = text.get_charbox(index)
    return str(
        text.get_text_bounded(left=68.5 * MM, bottom=20 * MM, right=84.5 * MM, top=bottom - 1 * MM)
    ).strip()


def test_one_surface(plan: dict[str, Any]) -> None:
    one = with_launches(plan, [one for one in plan["launches"] if one["surface"] == "cold powder"])
    text = " ".join(pages(paper_sheet({**one, "cautions": []})))
    assert "12 launches, 3 rounds, 1 surface, 1 outing" in text and "melt pan" not in text


def test_six_surfaces_and_thirty_rounds_keep_each_set_up_together(plan: dict[str, Any]) -> None:
    first, second = plan["launches"][0], plan["launches"][1]
    launches = [
        {**launch, "block": str(block), "surface": f"surface {letter}", "set_up": block * 6 + place}
        for block in range(1, 31)
        for place, letter in enumerate("ABCDEF")
        for launch in (first, second, second, first)
    ]
    texts = pages(paper_sheet(with_launches(plan, launches)))
    found: list[int] = []
    for text in texts[1:-1]:
        rows = numbered_rows(text)
        found += rows
        heads = re.findall(r"Round \d+ · surface [A-F] · out", text)
        assert len(rows) == 4 * len(heads), "a round's rows stand under its head"
    assert found == list(range(1, 721))


def test_a_long_set_up_goes_over_pages_with_its_column_heads(plan: dict[str, Any]) -> None:
    launches = [dict(plan["launches"][place % 2], set_up=1, surface="cold powder") for place in range(40)]
    texts = pages(paper_sheet(with_launches(plan, launches)))[1:-1]
    with_rows = [text for text in texts if numbered_rows(text)]
    assert len(with_rows) > 1
    assert all("peg distance" in text for text in with_rows)


def test_checks_and_practice_are_told_from_launches_that_count(plan: dict[str, Any]) -> None:
    kinds = ["practice", "launch", "launch", "wear check", "return to bare"]
    launches = [{**plan["launches"][0], "kind": kind, "set_up": 1} for kind in kinds]
    pdf = paper_sheet(with_launches(plan, launches))
    text = pages(pdf)[1]
    for kind in ("practice", "wear check", "return to bare"):
        assert text.count(kind) == 1
    assert text.count("not read") == 1, "only practice is not read"
    assert greys(pdf, 1) == [True, False, False, True, True]


def greys(pdf: bytes, number: int) -> list[bool]:
    """Whether the cell of each launch's number is grey, from the first to the last."""
    page = pdfium.PdfDocument(pdf)[number]
    picture = page.render(scale=1).to_pil().convert("L")
    text = page.get_textpage()
    found = text.search("slider 2")
    shades = []
    while (place := found.get_next()) is not None:
        left, bottom, *_ = text.get_charbox(place[0])
        spot = (round(left - 12 * MM), round(picture.height - bottom + 3 * MM))
        shades.append(picture.getpixel(spot) < 250)
    return shades


@pytest.mark.parametrize(("count", "last"), [(6, "F"), (27, "A2"), (53, "A3")])
def test_no_cause_is_dropped(plan: dict[str, Any], count: int, last: str) -> None:
    causes = [f"cause number {number}" for number in range(1, count + 1)]
    first = " ".join(pages(paper_sheet({**plan, "void_reasons": causes}))[:3])
    assert f"{last} cause number {count}" in first


def test_causes_are_there_to_be_circled_while_they_fit(plan: dict[str, Any]) -> None:
    assert sheet_data(plan)["letters"] == ["A", "B"]
    assert sheet_data({**plan, "void_reasons": ["x"] * 7})["letters"] == []
    none = pages(paper_sheet({**plan, "void_reasons": []}))[0]
    assert "no launch is set aside" in none


def lines_of(pdf: bytes, number: int) -> list[str]:
    return pdfium.PdfDocument(pdf)[number].get_textpage().get_text_bounded().splitlines()


@pytest.mark.parametrize("letters", ["AB", "ABCDE", "ABCDEF"])
def test_letters_to_circle_stand_in_one_line(plan: dict[str, Any], letters: str) -> None:
    lines = lines_of(paper_sheet({**plan, "void_reasons": ["x"] * len(letters)}), 1)
    assert [line.replace(" ", "") for line in lines].count(letters) == 8


def test_each_launch_can_be_said_to_be_set_aside_before_its_distance_was_known(plan: dict[str, Any]) -> None:
    for causes in (2, 7):
        texts = pages(paper_sheet({**plan, "void_reasons": ["x"] * causes}))
        assert " ".join(texts).count("known: no yes") == 24
        assert "before anybody reads the tape: circle the cause" in texts[0]


def test_a_sheet_that_is_empty_says_why(plan: dict[str, Any]) -> None:
    blank = "Left blank on purpose"
    texts = pages(paper_sheet(plan))
    assert len(texts) % 2 == 0 or blank not in " ".join(texts)
    foot = re.compile(re.escape(f"{plan['title']} · seal") + ".*")
    told = [len(foot.sub("", text)) for text in texts]
    assert min(told) > 20, "no sheet is empty without a word"
    two = pages(paper_sheet(with_launches(plan, plan["launches"][:16])))
    assert (blank in " ".join(texts)) != (blank in " ".join(two)), "only where the key would be on a back"
    assert blank not in " ".join(pages(paper_sheet({**plan, "hidden": False})))


def test_the_same_plan_gives_the_same_bytes(plan: dict[str, Any]) -> None:
    assert paper_sheet(plan) == paper_sheet(copy.deepcopy(plan))
    assert paper_sheet(plan) != paper_sheet({**plan, "title": "another"})


def test_the_document_says_what_it_is_to_readers_who_listen(plan: dict[str, Any]) -> None:
    pdf = paper_sheet(plan)
    document = pdfium.PdfDocument(pdf)
    assert document.get_metadata_value("Title") == plan["title"]
    assert pdfium.raw.FPDFCatalog_IsTagged(document)
    assert b"/Lang (en)" in pdf or b"/Lang(en)" in pdf
    assert b"pdfuaid:part>1<" in pdf
    outline = [entry.get_title() for entry in document.get_toc()]
    assert plan["title"] in outline and "Outing 1" in outline


def test_a_name_in_a_script_that_our_typeface_lacks_is_drawn_all_the_same(plan: dict[str, Any]) -> None:
    odd = copy.deepcopy(plan)
    odd["launches"][0]["item"] = "\u6ed1\u308a\u53f0 \U000e0001"
    texts = pages(paper_sheet(odd))
    assert "3 slider 1" in texts[1] and len(texts) == 5
    assert document_title(paper_sheet(odd)) == plan["title"]


def document_title(pdf: bytes) -> str:
    return str(pdfium.PdfDocument(io.BytesIO(pdf)).get_metadata_value("Title"))


def test_it_is_printed_black_on_white(plan: dict[str, Any]) -> None:
    for page in pdfium.PdfDocument(paper_sheet(plan)):
        picture: Image.Image = page.render(scale=0.5).to_pil().convert("HSV")
        assert picture.getextrema()[1] == (0, 0), "no colour"
