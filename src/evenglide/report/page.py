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
from evenglide.fieldlog.state import State
from evenglide.readings.launches import Launches
from evenglide.report.carried_out import (
    conditions_words,
    departures_by_weight,
    guesses_words,
    left_out_words,
    posted_words,
    replies,
    sealed_on,
    set_aside_table,
    wear_table,
)
from evenglide.report.figures import (
    course_figures,
    draw_lanes,
    draw_otherwise,
    launch_figures,
    scatter_figure,
)
from evenglide.report.findings import Finding, findings_of
from evenglide.report.first_screen import first_screen
from evenglide.report.headline import question
from evenglide.report.lane_words import lane_key, lane_scale
from evenglide.report.look import FONT, tokens_css
from evenglide.report.method import method, riding
from evenglide.report.odd_entries import WHERE_TO_LOOK, odd_entries, questions_words
from evenglide.report.otherwise import (
    Otherwise,
    as_judged,
    merged,
    otherwise,
    otherwise_finding,
    yardstick,
)
from evenglide.report.referee import between_table, between_words, contrast_table, scale_words
from evenglide.report.remarks import SEVERITIES, remarks_of
from evenglide.report.scatter import launches_share, scatters_of
from evenglide.report.sentences import Sentence
from evenglide.report.surroundings import courses_of
from evenglide.report.tables import lanes_table, measured_words, treatments_table
from evenglide.report.wording import Wording
from evenglide.show.numbers import count
from evenglide.show.table import Table, html_table


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneRow:
    """One finding on the first screen: what it is called, its lane, its sentence."""

    surface: str
    treatment: str
    measured: str
    lane: Markup
    sentence: Sentence


Drawn = tuple[Otherwise, Markup | None]
"""A line of the table of other ways of reckoning, and its small lane."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoning:
    """The other ways of reckoning one finding: the answer itself, what changes it, all others."""

    name: str
    finding: str
    judged: Drawn
    changing: tuple[Drawn, ...]
    rest: tuple[Drawn, ...]


def report_html(  # noqa: PLR0913 - what the page says about itself, each by its name
    answer: Answer,
    launches: Launches,
    *,
    wording: Wording,
    source_name: str,
    repeat_with: str,
    title: str | None = None,
    made_on: str | None = None,
    cautions: Sequence[str] = (),
    state: State | None = None,
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
    state : State, optional
        What the log of a study says: when it was sealed, where that was posted, the conditions.

    Returns
    -------
    str
        The whole file; write it as UTF-8.
    """
    body = template("body.html.j2").render(
        **_first(answer, wording, shared=launches.shared, sealed=sealed_on(state)),
        **_below(answer, launches, wording=wording),
        **_conduct(answer, state),
        title=title or question(answer, wording),
        source_name=source_name,
        repeat_with=repeat_with,
        made_on=made_on,
        cautions=tuple(cautions),
    )
    return page_html(body, title=title or question(answer, wording))


def page_html(body: str, *, title: str, styles: Sequence[str] = ("report.css",)) -> str:
    """Put what a template gave into a whole page.

    Parameters
    ----------
    body : str
        HTML with everything escaped.
    title : str
        Of the window.
    styles : sequence of str, optional
        Names of style sheets, in order.

    Returns
    -------
    str
        The whole file; write it as UTF-8.
    """
    return template("page.html.j2").render(title=title, style=Markup(_style(body, styles)), body=Markup(body))


def _first(answer: Answer, wording: Wording, *, shared: bool, sealed: str) -> dict[str, object]:
    """Gather what the first screen shows."""
    screen = first_screen(answer, wording, shared=shared, sealed_on=sealed)
    findings = [finding for finding, _ in screen.rows]
    drawings, track = draw_lanes(findings)
    rows = [
        _lane_row(finding, sentence, lane=drawing, before=findings[place - 1] if place else None)
        for place, ((finding, sentence), drawing) in enumerate(zip(screen.rows, drawings, strict=True))
    ]
    return {
        "screen": screen,
        "remarks_counted": count(screen.remarks, "remark") if screen.remarks else "",
        "rows": rows,
        "scale": lane_scale(findings, track),
        "key": lane_key(findings),
        "lanes_table": _table(lanes_table(findings)),
        "seal": answer.provenance.seal,
        "sealed": sealed,
    }


def _conduct(answer: Answer, state: State | None) -> dict[str, object]:
    """Gather how a study was carried out; a table has no such part."""
    conduct = answer.conduct
    if conduct is None:
        return {"conduct": None, "posted": posted_words(state)}
    courses, aside, wear = course_figures(state), set_aside_table(conduct), wear_table(answer)
    return {
        "conduct": conduct,
        "posted": posted_words(state),
        "replies": replies(conduct.objections),
        "departures": departures_by_weight(conduct),
        "severities": SEVERITIES,
        "set_aside_table": None if aside is None else _table(aside),
        "left_out": left_out_words(conduct),
        "courses": courses,
        "conditions": conditions_words(conduct, drawn=courses_of(state)),
        "wear_table": None if wear is None else _table(wear),
        "guesses": guesses_words(conduct, treatments=len(answer.surfaces[0].treatments)),
        "questions": questions_words(conduct),
        "odd_entries": odd_entries(state),
        "where_to_look": WHERE_TO_LOOK,
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
        "launches_share": launches_share(scatters_of(answer)),
        "in_order": launches.order is not None,
        "remarks": remarks_of(answer),
        "yardstick": yardstick(list(findings_of(answer, wording))),
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


def _reckonings(answer: Answer, wording: Wording) -> Iterator[Reckoning]:
    place = 0
    for surface in answer.surfaces:
        for contrast in surface.contrasts:
            finding = Finding(answer=answer, surface=surface, contrast=contrast, wording=wording)
            lines = otherwise(finding)
            place += 1
            if not lines:
                continue
            told = (
                as_judged(finding),
                *(line for line in lines if line.changes),
                *merged([line for line in lines if not line.changes]),
            )
            drawings = draw_otherwise(told, identity=f"line-{place}", percent=answer.scale == "ratio")
            judged, *others = zip(told, drawings, strict=True)
            yield Reckoning(
                name=finding.name,
                finding=otherwise_finding(lines),
                judged=judged,
                changing=tuple(one for one in others if one[0].changes),
                rest=tuple(one for one in others if not one[0].changes),
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


def _style(body: str, styles: Sequence[str]) -> str:
    """Style of the page, the typeface cut down to its characters inside it."""
    from evenglide.report.typeface import subset_font

    font = base64.b64encode(subset_font(re.sub(r"<[^>]*>", "", body))).decode("ascii")
    source = f"url(data:font/woff2;base64,{font})"
    face = f"@font-face{{font-family:'{FONT}';font-weight:400 600;src:{source}}}"
    return f"{face}{tokens_css()}{''.join(map(_read, styles))}"


@cache
def _environment() -> Environment:
    return Environment(
        loader=FunctionLoader(_read),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def template(name: str) -> Template:
    """Template of a page, by its name."""
    return _environment().get_template(name)


def _read(name: str) -> str:
    return (files("evenglide.report") / "templates" / name).read_text(encoding="utf-8")
