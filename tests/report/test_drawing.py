from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from evenglide.report.drawing import to_png, to_svg
from evenglide.report.lanes import Lane, lane_chart
from evenglide.report.launch_dots import NARROW, launch_chart
from evenglide.report.look import DARK, LIGHT, tokens_css
from evenglide.report.pen import Ruler, picture, words
from evenglide.report.preparations import preparations_on
from tests.report import made_up

LANE = Lane(estimate=9.0, bar=(4.0, 15.0), margin=(-4.8, 5.0), kind="farther", settled=True)
CHART = lane_chart(LANE, Ruler(low=-20.0, high=20.0, left=2, right=432))


def drawn(**options: object) -> str:
    return to_svg(CHART, identity="x", title="A title", description="A description", **options)  # type: ignore[arg-type]


def test_one_picture_with_title_and_description_and_no_inner_roles() -> None:
    root = ElementTree.fromstring(drawn())
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "x-title x-description"
    assert [(child.tag, child.get("id"), child.text) for child in list(root)[:2]] == [
        ("title", "x-title", "A title"),
        ("desc", "x-description", "A description"),
    ]
    inner = [element for element in root.iter() if element is not root]
    assert not any(name.startswith("aria-") or name == "role" for element in inner for name in element.attrib)


def test_same_chart_same_bytes() -> None:
    assert drawn() == drawn()


def test_only_a_file_of_its_own_names_a_name_space() -> None:
    assert "http" not in drawn()
    assert drawn(standalone=True).count('xmlns="http://www.w3.org/2000/svg"') == 1


def test_the_drawing_keeps_its_size() -> None:
    assert ElementTree.fromstring(drawn()).get("viewBox") == "0 0 434 58"


def test_every_colour_is_a_token() -> None:
    preparations = preparations_on(made_up.launches(), 0, scale="ratio")
    chart = launch_chart(preparations, frame=NARROW, axis_title="distance, m")
    for svg in (drawn(), to_svg(chart, identity="y", title="t", description="d")):
        colours = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]+)"', svg))
        assert colours <= set(LIGHT.values())
        assert set(re.findall(r'(?:fill|stroke)="([^"#]+)"', svg)) <= {"none"}
        classes = {name for names in re.findall(r'class="([^"]+)"', svg) for name in names.split()}
        assert classes <= {f"{kind}-{token}" for kind in ("fill", "stroke") for token in LIGHT}


def test_cleaning_takes_nothing_that_is_seen() -> None:
    """As many marks after cleaning as Vega drew: one per launch, peg, hairline and word."""
    preparations = preparations_on(made_up.launches(), 0, scale="ratio")
    chart = launch_chart(preparations, frame=NARROW, axis_title="distance, m")
    layers = chart["layer"]
    assert isinstance(layers, list)
    expected = sum(len(layer["data"]["values"]) for layer in layers)
    root = ElementTree.fromstring(to_svg(chart, identity="y", title="t", description="d"))
    assert sum(element.tag in ("path", "line", "text") for element in root.iter()) == expected


def test_words_are_escaped() -> None:
    text = "<script>alert('&')</script>"
    svg = to_svg(
        picture([words([(text, 10.0)], left=0)], width=200, height=20),
        identity="x",
        title=text,
        description=text,
    )
    root = ElementTree.fromstring(svg)
    assert not any(element.tag == "script" for element in root.iter())
    assert [element.text for element in root.iter() if element.tag in ("text", "title", "desc")] == [text] * 3


def test_png() -> None:
    png = to_png(CHART, scale=2.0)
    assert png.startswith(b"\x89PNG\r\n")
    assert int.from_bytes(png[16:20], "big") >= 868


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2."""
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_reckoned_as_published() -> None:
    """Black on white is 21 : 1 by definition (WCAG 2.2, contrast ratio)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
def test_text_and_marks_can_be_read(tokens: dict[str, str]) -> None:
    for name, colour in tokens.items():
        if name not in ("paper", "line", "band"):
            assert contrast(colour, tokens["paper"]) >= 4.5, name
    for name in ("ink", "farther", "shorter", "alike", "soft", "band-text"):
        assert contrast(tokens[name], tokens["band"]) >= 3, name


def test_each_token_is_one_colour_in_both_lights() -> None:
    assert list(LIGHT) == list(DARK)
    assert len(set(LIGHT.values())) == len(LIGHT)
    assert all(f"--{name}:{colour};" in tokens_css() for name, colour in (*LIGHT.items(), *DARK.items()))
