"""The answer for a terminal: plain lines, the same words as the first screen of the report."""

from __future__ import annotations

import textwrap

from evenglide.answer.results import Answer
from evenglide.report.first_screen import FirstScreen, first_screen
from evenglide.report.wording import Wording
from evenglide.show.numbers import count
from evenglide.show.table import text_block

ALL_SETTLED = "Nothing: every question asked of these launches is settled."


def answer_text(answer: Answer, wording: Wording, *, width: int = 88) -> str:
    """Write an answer as plain lines.

    Parameters
    ----------
    answer : Answer
    wording : Wording
        Words for more and less, from `choose_wording`.
    width : int, optional
        Characters in a line.

    Returns
    -------
    str
        Without a line break at the end.
    """
    screen = first_screen(answer, wording)
    found = [(finding.name, sentence.text) for finding, sentence in screen.rows]
    headline = "\n".join(textwrap.wrap(screen.headline, width))
    return f"{headline}\n\n{text_block([*found, ('', ''), *_rest(screen)], width=width)}"


def _rest(screen: FirstScreen) -> list[tuple[str, str]]:
    rows = [("Not settled", line) for line in screen.not_settled] or [("Not settled", ALL_SETTLED)]
    rows = [rows[0], *(("", line) for _, line in rows[1:])]
    rows.append(("What it rests on", screen.rests_on.text))
    more = [f"{count(screen.more_remarks, 'more remark')} in the report."] if screen.more_remarks else []
    rows.append(("What it cannot say", " ".join([*screen.cannot_say, *more])))
    rows.append(("Check it", " ".join([*screen.checking, "Judge the same table again to check it."])))
    return rows
