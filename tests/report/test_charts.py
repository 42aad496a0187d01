from __future__ import annotations

import json
from xml.etree import ElementTree

from evenglide.report.charts import chart
from evenglide.report.look import VEGA_LITE, VEGA_LITE_VERSION
from tests.report import made_up
from tests.report.made_up import Invented


def test_a_notebook_gets_the_spec_and_the_table() -> None:
    made = chart(made_up.answer())
    bundle = made._repr_mimebundle_()
    assert list(bundle) == ["application/vnd.vegalite.v6+json", "text/plain"]
    assert bundle["application/vnd.vegalite.v6+json"] == json.loads(json.dumps(made.spec))
    assert made.spec["$schema"] == VEGA_LITE
    assert f"v{VEGA_LITE_VERSION.split('.')[0]}." in VEGA_LITE
    assert "wet spring snow" in str(bundle["text/plain"])


def test_the_title_is_the_finding() -> None:
    title = chart(made_up.answer()).spec["title"]
    assert isinstance(title, dict)
    assert " ".join(title["text"]).startswith("Farther on wet spring snow, no difference")


def test_the_svg_says_all_sentences() -> None:
    made = chart(made_up.answer())
    root = ElementTree.fromstring(made.svg())
    description = next(element.text for element in root.iter() if element.tag.endswith("desc"))
    assert description is not None
    assert "Too close to call so far" in description
    words = " ".join(element.text or "" for element in root.iter() if element.tag.endswith(("text", "tspan")))
    for piece in ("Goes farther", "cold powder", "same distance", "No difference that matters"):
        assert piece in words


def test_without_unit_and_mark_nothing_goes_farther() -> None:
    answer = made_up.answer([Invented(surface=None, estimate=0.4, se=0.1)], unit=None)
    assert "farther" not in str(chart(answer)) + chart(answer).description
    assert "farther" in str(chart(answer, mark_given=True))
