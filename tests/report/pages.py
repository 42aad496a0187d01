"""Reports of invented answers, written once for all tests that read them."""

from __future__ import annotations

from functools import cache

from evenglide.report.page import report_html
from evenglide.report.wording import DISTANCE, NUMBER
from tests.report import made_up
from tests.report.made_up import Invented

NASTY = "wet snow <b onclick='x'>&amp; \"a name\" https://example.org/ without end " + "Snow" * 20 + "</b>"
COMMAND = "evenglide judge launches.csv --response distance_m --treatment treatment --matters '5 %'"

CASES = {
    "four surfaces": list(made_up.FOUR_SURFACES),
    "three treatments": [
        Invented(
            surface=surface,
            treatment=treatment,
            estimate=estimate,
            se=0.02,
            spread_unequal=treatment == made_up.WAX,
        )
        for surface in ("groomed snow", "cold powder")
        for treatment, estimate in ((made_up.RUB, 0.08), (made_up.WAX, -0.055))
    ],
    "bad news": [
        Invented(surface=NASTY, estimate=None),
        Invented(surface="powder", estimate=0.05),
        Invented(surface="ice", estimate=0.06, se=0.012),
    ],
    "no surface": [Invented(surface=None, estimate=0.02, se=0.006)],
}


@cache
def report(name: str) -> str:
    """Write the report of a case."""
    return report_html(
        made_up.answer(CASES[name]),
        made_up.launches(CASES[name]),
        wording=DISTANCE,
        source_name="Hill club, invented (launches.csv)",
        repeat_with=COMMAND,
        made_on="17 January 2026",
        cautions=("Nobody stands in front of a cocked spring.",) if name == "four surfaces" else (),
    )


@cache
def report_without_unit() -> str:
    """Write a report whose response has no unit, on the difference scale and without a margin."""
    case = [Invented(surface=None, estimate=0.4, se=0.1)]
    return report_html(
        made_up.answer(case, scale="difference", margin=None, unit=None),
        made_up.launches(case, scale="difference", unit=None),
        wording=NUMBER,
        source_name="launches.csv",
        repeat_with=COMMAND,
    )
