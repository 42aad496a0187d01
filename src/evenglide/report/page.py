"""The report: one HTML file that needs nothing else, no network, no script, no link.

Sections from the rider's first screen to the referee's numbers. Everything a user typed is escaped;
the page forbids itself, by its own policy, to load anything from anywhere. The same answer gives
the same file, byte for byte.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup

from evenglide.answer.results import Answer
from evenglide.readings.launches import Launches
from evenglide.report.figures import draw_lanes, draw_otherwise, launch_figures, scatter_figure
from evenglide.report.findings import Finding
from evenglide.report.first_screen import first_screen
from evenglide.report.headline import question
from evenglide.report.lanes import end_labels
from evenglide.report.look import FONT, tokens_css
from evenglide.report.method import method, riding
from evenglide.report.otherwise import Otherwise, otherwise, otherwise_finding
from evenglide.report.referee import between_table, between_words, contrast_table, scale_words
from evenglide.report.sentences import Sentence
from evenglide.report.tables import lanes_table, measured_words, treatments_table
from evenglide.report.wording import Wording
from evenglide.show.numbers import count, listed
from evenglide.show.table import Table, html_table

SEVERITIES = {"limits": "limits the answer", "warns": "take care", "fine": "good to know"}
"""Severities in words, the gravest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneRow:
    """One finding on the first screen: what it is called, its lane, its sentence."""

    surface: str
    treatment: str
    measured: str
    lane: Markup
    sentence: Sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One entry of what the test cannot say."""

    severity: str
    words: str
    surface: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoning:
    """The other ways of reckoning one finding."""

    name: str
    finding: str
    lines: tuple[tuple[Otherwise, Markup | None], ...]


def report_html(
    answer: Answer,
    launches: Launches,
    *,
    wording: Wording,
    source_name: str,
    repeat_with: str,
    title: str | None = None,
    made_on: str | None = None,
    cautions: Sequence[str] = (),
) -> str:
    """Write the report of an answer as one HTML file.

    Parameters
    ----------
    answer : Answer
    launches : Launches
        The launches that the answer rests on.
    wording : Wording
        Words for more and less, from `choose_wording`.
    source_name : str
        Name of the table or the study.
    repeat_with : str
        Command line that repeats the judgement.
    title : str, optional
        The question; made from the treatments if not given.
    made_on : str, optional
        Day on which the report was made, as it is to be shown; left out if not given.
    cautions : sequence of str, optional
        Warnings for those who repeat the test; the section is left out without any.

    Returns
    -------
    str
        The whole file; write it as UTF-8.
    """
    body = _template("body.html.j2").render(
        **_first(answer, wording),
        **_below(answer, launches, wording=wording),
        title=title or question(answer, wording),
        source_name=source_name,
        repeat_with=repeat_with,
        made_on=made_on,
        cautions=tuple(cautions),
    )
    return _template("page.html.j2").render(
        title=title or question(answer, wording),
        style=Markup(_style(body)),
        body=Markup(body),  # rendered just above, with everything escaped
    )


def _first(answer: Answer, wording: Wording) -> dict[str, object]:
    """Gather what the first screen shows."""
    screen = first_screen(answer, wording)
    findings = [finding for finding, _ in screen.rows]
    drawings, track = draw_lanes(findings)
    rows = [
        _lane_row(finding, sentence, lane=drawing, before=findings[place - 1] if place else None)
        for place, ((finding, sentence), drawing) in enumerate(zip(screen.rows, drawings, strict=True))
    ]
    low, high = end_labels(track, findings[0].effects)
    margins = {finding.effects.margin_words() for finding in findings if finding.surface.margin is not None}
    return {
        "screen": screen,
        "more": count(screen.more_remarks, "more remark") if screen.more_remarks else "",
        "rows": rows,
        "scale": {"low": low, "same": wording.same, "high": high, "place": f"{100 * track.share(0.0):.2f}%"},
        "margin": margins.pop() if len(margins) == 1 else "",
        "has_margin": any(finding.surface.margin is not None for finding in findings),
        "lanes_table": _table(lanes_table(findings)),
        "seal": answer.provenance.seal,
    }


def _lane_row(finding: Finding, sentence: Sentence, *, lane: Markup, before: Finding | None) -> LaneRow:
    continues = before is not None and before.surface is finding.surface
    surface = finding.surface.surface
    several = surface is None or len(finding.surface.contrasts) > 1
    return LaneRow(
        surface="" if continues or surface is None else surface,
        treatment=finding.contrast.treatment if several else "",
        measured="" if continues else measured_words(finding),
        lane=lane,
        sentence=sentence,
    )


def _below(answer: Answer, launches: Launches, *, wording: Wording) -> dict[str, object]:
    """Gather what the sections below the first screen show."""
    return {
        "answer": answer,
        "launch_figures": launch_figures(answer, launches),
        "scatter": scatter_figure(answer),
        "remarks": _remarks(answer),
        "reckonings": list(_reckonings(answer, wording)),
        "referee_tables": [_table(contrast_table(answer, surface)) for surface in answer.surfaces],
        "referee_notes": _notes(answer),
        "treatments_table": _table(treatments_table(answer)),
        "scale_words": scale_words(answer),
        "between": [
            (
                between_words(one),
                _table(between_table(one, level=answer.level)),
                [note.text for note in one.notes],
            )
            for one in answer.between_surfaces
        ],
        "method": method(answer),
        "riding": riding(answer, wording),
    }


def _remarks(answer: Answer) -> list[Remark]:
    """Sort what the test cannot say by severity; what several surfaces share is told once."""
    places: dict[tuple[str, str], list[str]] = {}
    for entry in answer.audit:
        places.setdefault((entry.severity, entry.text), []).extend([entry.surface] if entry.surface else [])
    order = list(SEVERITIES)
    return [
        Remark(severity=severity, words=SEVERITIES[severity], surface=listed(surfaces), text=text)
        for (severity, text), surfaces in sorted(places.items(), key=lambda item: order.index(item[0][0]))
    ]


def _reckonings(answer: Answer, wording: Wording) -> Iterator[Reckoning]:
    place = 0
    for surface in answer.surfaces:
        for contrast in surface.contrasts:
            finding = Finding(answer=answer, surface=surface, contrast=contrast, wording=wording)
            lines = otherwise(finding)
            place += 1
            if not lines:
                continue
            drawings = draw_otherwise(lines, identity=f"line-{place}", percent=answer.scale == "ratio")
            yield Reckoning(
                name=finding.name,
                finding=otherwise_finding(lines),
                lines=tuple(zip(lines, drawings, strict=True)),
            )


def _notes(answer: Answer) -> list[tuple[str, tuple[str, ...]]]:
    """Remarks on each contrast, under its name; none twice."""
    told = []
    for surface in answer.surfaces:
        for contrast in surface.contrasts:
            texts = tuple(dict.fromkeys(note.text for note in contrast.notes))
            name = ": ".join(part for part in (surface.surface, contrast.treatment) if part)
            told += [(name, texts)] if texts else []
    return told


def _table(table: Table) -> Markup:
    return Markup(html_table(table))


def _style(body: str) -> str:
    """Style of the page, the typeface cut down to its characters inside it."""
    from evenglide.report.typeface import subset_font

    font = base64.b64encode(subset_font(re.sub(r"<[^>]*>", "", body))).decode("ascii")
    source = f"url(data:font/woff2;base64,{font})"
    face = f"@font-face{{font-family:'{FONT}';font-weight:400 600;src:{source}}}"
    return f"{face}{tokens_css()}{_read('report.css')}"


@cache
def _environment() -> Environment:
    return Environment(
        loader=FunctionLoader(_read),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _template(name: str) -> Template:
    return _environment().get_template(name)


def _read(name: str) -> str:
    return (files("evenglide.report") / "templates" / name).read_text(encoding="utf-8")
