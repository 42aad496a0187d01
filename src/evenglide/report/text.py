"""The answer for a terminal: plain lines, the same words as the first screen of the report."""

from __future__ import annotations

import textwrap

from evenglide.answer.results import Answer
from evenglide.report.first_screen import FirstScreen, first_screen
from evenglide.report.wording import Wording
from evenglide.show.numbers import count
from evenglide.show.table import text_block

ALL_SETTLED = "Nothing: every question asked of these launches is settled."


def answer_text(
    answer: Answer, wording: Wording, *, width: int = 88, shared: bool | None = None, sealed_on: str = ""
) -> str:
    """Write an answer as plain lines.

    Parameters
    ----------
    answer : Answer
    wording : Wording
        Words for more and less, from `choose_wording`.
    width : int, optional
        Characters in a line.
    shared : bool, optional
        One preparation served all surfaces.
    sealed_on : str, optional
        Day of the seal, in words.

    Returns
    -------
    str
        Without a line break at the end.
    """
    told, rows = answer_rows(answer, wording, shared=shared, sealed_on=sealed_on)
    headline = "\n".join(textwrap.wrap(told, width))
    return f"{headline}\n\n{text_block(rows, width=width)}"


def answer_rows(
    answer: Answer, wording: Wording, *, shared: bool | None = None, sealed_on: str = ""
) -> tuple[str, list[tuple[str, str]]]:
    """Tell an answer as a headline and pairs of a name and a text.

    Parameters
    ----------
    answer : Answer
    wording : Wording
    shared : bool, optional
    sealed_on : str, optional
        As in `answer_text`.

    Returns
    -------
    headline : str
    rows : list of (str, str)
        An empty name continues the entry above; an empty text parts what was found from what it rests on.
    """
    screen = first_screen(answer, wording, shared=shared, sealed_on=sealed_on)
    halfway = [("Half-way check" if at == 0 else "", line) for at, line in enumerate(screen.halfway)]
    halfway += [("", "")] if halfway else []
    found = [(finding.name, sentence.text) for finding, sentence in screen.rows]
    return screen.headline, [*halfway, *found, ("", ""), *_rest(screen, answer)]


def _again(answer: Answer) -> str:
    if answer.provenance.seal is not None:
        return "Answer the same log again to check it."
    return "Judge the same table again to check it."


def _rest(screen: FirstScreen, answer: Answer) -> list[tuple[str, str]]:
    rows = [("Not settled", line) for line in screen.not_settled] or [("Not settled", ALL_SETTLED)]
    rows = [rows[0], *(("", line) for _, line in rows[1:])]
    rows.append(("What it rests on", screen.rests_on.text))
    change = screen.would_change or ("Nothing could be reckoned otherwise.",)
    rows += [("What would change it" if place == 0 else "", line) for place, line in enumerate(change)]
    more = [f"The report lists {count(screen.remarks, 'remark')}."] if screen.remarks else []
    rows.append(("What it cannot say", " ".join([*screen.cannot_say, *more])))
    rows.append(("Check it", " ".join([*screen.checking, _again(answer)])))
    return rows
