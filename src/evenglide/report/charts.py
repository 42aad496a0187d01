"""The chart of an answer: every finding in its lane, under a title that says what was found.

One picture that stands alone, in a notebook, a forum post or a README: names, lanes, scale and
sentences. The report sets the same lanes between its own lines of text.
"""

from __future__ import annotations

import json
import textwrap
from dataclasses import dataclass

from evenglide.answer.results import Answer
from evenglide.report.drawing import complete, to_png, to_svg
from evenglide.report.findings import Finding, findings_of
from evenglide.report.headline import headline, question
from evenglide.report.lanes import (
    LANE_HEIGHT,
    end_labels,
    lane_layers,
    lane_of,
    shared_track,
)
from evenglide.report.look import LIGHT, VEGA_LITE_MIME
from evenglide.report.pen import Ruler, Spec, hairlines, picture, words
from evenglide.report.sentences import tell
from evenglide.report.tables import lanes_table, measured_words
from evenglide.report.wording import choose_wording
from evenglide.show.table import text_table

WIDTH = 980
LANE_LEFT, LANE_RIGHT = 216, 650
WORDS_LEFT = 676
NAME_CHARACTERS, WORDS_CHARACTERS, TITLE_CHARACTERS = 26, 42, 82
LINE = 20
ROW_PADDING = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A chart that a notebook draws, and that can be had as SVG or PNG.

    Parameters
    ----------
    spec : dict
        Vega-Lite.
    title, description : str
        What it shows; told to who cannot see it.
    table : str
        The same facts as plain text.
    """

    spec: dict[str, object]
    title: str
    description: str
    table: str

    def svg(self) -> str:
        """Draw as SVG, with title and description inside."""
        return to_svg(
            self.spec, identity="evenglide", title=self.title, description=self.description, standalone=True
        )

    def png(self, *, scale: float = 2.0, font_directory: str | None = None) -> bytes:
        """Draw as PNG; parameters as for `to_png`."""
        return to_png(self.spec, scale=scale, font_directory=font_directory)

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, object]:
        return {VEGA_LITE_MIME: json.loads(json.dumps(self.spec)), "text/plain": self.table}

    def __str__(self) -> str:
        return self.table


def chart(answer: Answer, *, mark_given: bool = False) -> Chart:
    """Draw an answer: every finding in its lane.

    Parameters
    ----------
    answer : Answer
    mark_given : bool, optional
        Somebody said how distances were marked, so that pages may say farther and shorter although
        the response has no unit.

    Returns
    -------
    Chart
    """
    wording = choose_wording(answer.response.unit, mark_given=mark_given)
    findings = list(findings_of(answer, wording))
    return Chart(
        spec=complete(lanes_figure(findings)),
        title=headline(answer, wording),
        description=describe_lanes(findings),
        table=text_table(lanes_table(findings)),
    )


def describe_lanes(findings: list[Finding]) -> str:
    """Describe the lanes to who cannot see them."""
    wording = findings[0].wording
    told = " ".join(f"{finding.name}: {tell(finding).text}" for finding in findings)
    return (
        f"One lane for each finding, {wording.less} to the left and {wording.more} to the right of a dotted "
        f"line at the {wording.same}. A bar shows what still fits, a flag the estimate. {told}"
    )


def lanes_figure(findings: list[Finding]) -> Spec:
    """Set all lanes under each other, with names to the left and sentences to the right.

    Parameters
    ----------
    findings : list of Finding
        Of one answer.

    Returns
    -------
    dict
        Vega-Lite, without grammar version and configuration.
    """
    lanes = [lane_of(finding) for finding in findings]
    percent = findings[0].answer.scale == "ratio"
    track = shared_track(lanes, percent=percent, left=LANE_LEFT, right=LANE_RIGHT)
    layers: list[Spec] = []
    top = 0.0
    for finding, lane in zip(findings, lanes, strict=True):
        name, under, lead, rest = _folded(finding)
        height = (
            max(LANE_HEIGHT, LINE * (len(name) + len(under)), LINE * (len(lead) + len(rest))) + ROW_PADDING
        )
        layers.append(hairlines([top + height], left=0, right=WIDTH))
        layers += lane_layers(lane, track, top=top + (height - LANE_HEIGHT) / 2)
        layers += _column(name, under, left=0, middle=top + height / 2)
        layers += _column(lead, rest, left=WORDS_LEFT, middle=top + height / 2, rest_token="ink")
        top += height
    layers += _scale_words(track, findings[0], top + 16)
    answer, wording = findings[0].answer, findings[0].wording
    title = {
        "text": textwrap.wrap(headline(answer, wording), TITLE_CHARACTERS),
        "subtitle": [question(answer, wording)],
        "subtitleColor": LIGHT["soft"],
        "subtitleFontSize": 14,
        "subtitlePadding": 8,
    }
    return picture(layers, width=WIDTH, height=top + 32) | {"title": title, "autosize": "pad"}


def _folded(finding: Finding) -> tuple[list[str], list[str], list[str], list[str]]:
    """Fold name, what was measured, and both halves of the sentence into lines."""
    sentence = tell(finding)
    rest = sentence.rest.lstrip(" ,:;")
    return (
        textwrap.wrap(finding.name, NAME_CHARACTERS),
        textwrap.wrap(measured_words(finding), NAME_CHARACTERS + 4),
        textwrap.wrap(sentence.lead.rstrip("."), WORDS_CHARACTERS - 4),
        textwrap.wrap(rest[:1].upper() + rest[1:], WORDS_CHARACTERS),
    )


def _column(
    bold: list[str], rest: list[str], *, left: float, middle: float, rest_token: str = "soft"
) -> list[Spec]:
    """Set bold lines over plain ones, the block centred on the lane."""
    top = middle - LINE * (len(bold) + len(rest)) / 2 + LINE / 2
    under = top + LINE * len(bold)
    return [
        words([(bold, top)], left=left, lineHeight=LINE, fontSize=15.5, fontWeight=600),
        words([(rest, under)], left=left, lineHeight=LINE, fontSize=14, color=LIGHT[rest_token]),
    ]


def _scale_words(track: Ruler, finding: Finding, depth: float) -> list[Spec]:
    low, high = end_labels(track, finding.effects)
    middle = track.left + track.share(0.0) * (track.right - track.left)
    places = (
        (low, track.left, "left"),
        (finding.wording.same, middle, "center"),
        (high, track.right, "right"),
    )
    return [
        words([(text, depth)], left=left, align=align, color=LIGHT["soft"]) for text, left, align in places
    ]
