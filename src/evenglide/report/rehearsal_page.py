"""A rehearsal as one page: how often right, open and wrong, truth by truth and trouble by trouble."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from evenglide.answer.rehearsed import Rehearsal, Share
from evenglide.report.headline import first_upper
from evenglide.report.page import page_html, template
from evenglide.report.rehearsal_words import (
    Three,
    anywhere_words,
    comparison_name,
    effects_of,
    harmless_words,
    headline_words,
    shown_truths,
    supposed_words,
    three_of,
    three_of_all,
    troubles_words,
    truth_words,
    worst_words,
)
from evenglide.show.numbers import fixed, whole
from evenglide.show.table import Table, html_table

STYLES = ("report.css", "rehearsal.css")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One comparison under one truth."""

    name: str
    three: Three


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposed:
    """One truth with its comparisons."""

    told: str
    rows: tuple[Row, ...]
    anywhere: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rough:
    """One scenario, all comparisons together, under the truths that are shown."""

    told: str
    threes: tuple[Three, ...]


def rehearsal_html(rehearsal: Rehearsal, *, repeat_with: str) -> str:
    """Write a rehearsal as one HTML file.

    Parameters
    ----------
    rehearsal : Rehearsal
    repeat_with : str
        Command line that gives the same.

    Returns
    -------
    str
        The whole file; write it as UTF-8.
    """
    shown = shown_truths(rehearsal.scenarios[0].truths)
    title = f"Rehearsed: {rehearsal.title}"
    body = template("rehearsal.html.j2").render(
        title=title,
        plan_words=_plan_words(rehearsal),
        headline=headline_words(rehearsal),
        truths=_calm(rehearsal),
        worst=worst_words(rehearsal),
        troubles=[
            Rough(
                told=first_upper(troubles_words(scenario.troubles)),
                threes=tuple(three_of_all(scenario.truths[at]) for at, _ in shown),
            )
            for scenario in effects_of(rehearsal).shown
        ]
        if len(rehearsal.scenarios) > 1
        else [],
        heads=[first_upper(truth_words(truth, rehearsal)) for _, truth in shown],
        harmless=harmless_words(rehearsal),
        supposed=supposed_words(rehearsal),
        example=rehearsal.example,
        repeat_with=repeat_with,
        table=Markup(html_table(rehearsal_table(rehearsal))),
    )
    return page_html(body, title=title, styles=STYLES)


def rehearsal_table(rehearsal: Rehearsal) -> Table:
    """Every share of a rehearsal with its Monte Carlo error, of a hundred.

    Parameters
    ----------
    rehearsal : Rehearsal

    Returns
    -------
    Table
    """
    rows = [
        (
            first_upper(troubles_words(scenario.troubles)),
            truth.told,
            comparison_name(one, rehearsal),
            *(_with_error(share) for share in (one.right, one.open, one.wrong)),
        )
        for scenario in rehearsal.scenarios
        for truth in scenario.truths
        for one in truth.comparisons
    ]
    return Table(
        caption="Of 100 answers, with the error that comes of playing so many studies and no more",
        columns=("what goes wrong", "what is true", "where", "right", "open", "wrong"),
        rows=tuple(rows),
        align=("left", "left", "left", "right", "right", "right"),
    )


def _calm(rehearsal: Rehearsal) -> list[Supposed]:
    return [
        Supposed(
            told=first_upper(truth_words(truth, rehearsal)),
            rows=tuple(
                Row(name=comparison_name(one, rehearsal), three=three_of(one)) for one in truth.comparisons
            ),
            anywhere=anywhere_words(truth),
        )
        for truth in rehearsal.scenarios[0].truths
    ]


def _plan_words(rehearsal: Rehearsal) -> str:
    sealed = "sealed" if rehearsal.sealed else "not yet sealed"
    return f"{sealed} · played {whole(rehearsal.studies)} times"


def _with_error(share: Share) -> str:
    return f"{fixed(100.0 * share.share, 1)} ± {fixed(100.0 * share.error, 1)}"
