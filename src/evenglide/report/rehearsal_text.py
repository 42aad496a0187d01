"""A rehearsal for a terminal: short, aligned, in a rider's words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from evenglide.answer.rehearsed import Rehearsal, Scenario
from evenglide.report.rehearsal_words import (
    NOTHING_WRONG,
    anywhere_words,
    comparison_name,
    effects_of,
    harmless_words,
    headline_words,
    of_hundred,
    shown_truths,
    supposed_words,
    three_of,
    three_of_all,
    truth_words,
    worst_words,
)
from evenglide.show.numbers import NO_BREAK, whole
from evenglide.show.table import text_block

WIDTH = 72
NUMBER = 7
PAIR = 2 * NUMBER
SHORT = {"none": "no effect", "half": "half of it", "margin": "what matters", "twice": "twice that"}
"""Truths at the heads of columns."""


def rehearsal_text(rehearsal: Rehearsal, *, width: int = WIDTH) -> str:
    """Tell a rehearsal in plain lines.

    Parameters
    ----------
    rehearsal : Rehearsal
    width : int, optional
        Characters in a line.

    Returns
    -------
    str
        Without a line break at the end.
    """
    calm, *rough = rehearsal.scenarios
    lines = [
        *textwrap.wrap(f"Rehearsed {whole(rehearsal.studies)} times: {rehearsal.title}", width),
        "",
        *textwrap.wrap(headline_words(rehearsal), width),
        "",
        *_calm(calm, rehearsal, width=width),
    ]
    if rough:
        lines += ["", *_rough(effects_of(rehearsal).shown, width=width)]
    mind = [*worst_words(rehearsal), *filter(None, [harmless_words(rehearsal)])]
    rows = [*_named("Mind", mind), *_named("Played with", supposed_words(rehearsal))]
    return "\n".join([*lines, "", text_block(rows, width=width)]).replace(NO_BREAK, " ")


def _named(name: str, lines: Sequence[str]) -> list[tuple[str, str]]:
    return [(name if at == 0 else "", line) for at, line in enumerate(lines)]


def _calm(scenario: Scenario, rehearsal: Rehearsal, *, width: int) -> Iterator[str]:
    """Where nothing goes wrong: a line for each comparison, truth by truth."""
    yield _row("Of 100 answers", ["right", "open", "wrong"], width=width)
    for truth in scenario.truths:
        yield truth_words(truth, rehearsal)[:1].upper() + truth_words(truth, rehearsal)[1:]
        for one in truth.comparisons:
            found = three_of(one)
            cells = [of_hundred(share) for share in (found.right, found.open, found.wrong)]
            yield _row(f"  {comparison_name(one, rehearsal)}", cells, width=width)
        anywhere = anywhere_words(truth)
        yield from textwrap.wrap(anywhere, width, initial_indent="  ", subsequent_indent="  ")


def _rough(scenarios: tuple[Scenario, ...], *, width: int) -> Iterator[str]:
    """Where something goes wrong: a line for each scenario, all comparisons together."""
    shown = shown_truths(scenarios[0].truths)
    yield _row("", [SHORT.get(truth.truth, truth.truth)[:PAIR] for _, truth in shown], width=width, wide=PAIR)
    heads = ["right", "wrong"] * len(shown)
    yield _row("If something goes wrong", heads, width=width)
    for scenario in scenarios:
        cells = []
        for at, _ in shown:
            found = three_of_all(scenario.truths[at])
            cells += [of_hundred(found.right), of_hundred(found.wrong)]
        yield _row(_told(scenario), cells, width=width)


def _told(scenario: Scenario) -> str:
    """What goes wrong, under the names by which it can be asked for."""
    if len(scenario.troubles) > 1:
        return " + ".join(one.name for one in scenario.troubles)
    return "".join(f"{one.name}: {one.told}" for one in scenario.troubles) or NOTHING_WRONG


def _row(name: str, cells: list[str], *, width: int, wide: int = NUMBER) -> str:
    """Name to the left, numbers to the right of its first line; a long name goes on below."""
    numbers = "".join(cell.rjust(wide) for cell in cells)
    room = width - len(numbers) - 1
    indent = " " * (len(name) - len(name.lstrip()))
    lines = textwrap.wrap(name.strip(), room - len(indent) - 2, break_on_hyphens=False) or [""]
    first, *more = (f"{indent}{'  ' if at else ''}{line}" for at, line in enumerate(lines))
    return "\n".join([f"{first.ljust(room + 1)}{numbers}", *more])
