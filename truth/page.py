"""The measured rates as a page of the documentation."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from evenglide.constants import VERSION
from truth.cells import CHUNK, LEVEL, MARGIN_SES, Cell, Rates, all_cells
from truth.layouts import LAUNCHES, SURFACES
from truth.rates import NOTHING, Sums
from truth.troubles import TROUBLES, Trouble

LOWEST, HIGHEST = 0.045, 0.055
"""Where the rate of the primary test should lie if the level is 0.05."""
ERRORS = 4.0
"""A rate this many of its errors above the level is called too high; hundreds of them are looked at."""
COLUMNS = {
    "difference": "false difference",
    "interval holds": "coverage",
    "alike": "false alike",
    "matters": "false matters",
    "any difference": "any false difference",
    "any beside real ones": "any false difference beside real ones",
    "any wrong way": "any wrong direction",
    "any alike": "any false alike",
    "any matters": "any false matters",
    "own pair": "own pair",
    "REML": "reml",
    "all orders": "all orders",
}
PROMISED = ("0.05", "0.95", "≤ 0.05", "≤ 0.05", *("≤ 0.05",) * 5, "", "", "≤ 0.05")
FAMILY = tuple(name for name in COLUMNS.values() if name.startswith("any"))

HEAD = Path(__file__).parent / "head.md"
"""What stands above the tables, with places for the facts."""


def page(rates: Mapping[str, Rates], files: Sequence[Mapping[str, Any]], *, facts: Mapping[str, Any]) -> str:
    """Write the page.

    Parameters
    ----------
    rates : mapping of str to rates
        By the name of the cell.
    files : sequence of mapping
        What `truth.files.through_files` found.
    facts : mapping
        ``studies``, ``seed``, ``numpy``, ``scipy``.

    Returns
    -------
    str
        Markdown.
    """
    lines = [_head(facts)]
    for trouble in TROUBLES:
        cells = [cell for cell in all_cells() if cell.trouble is trouble]
        lines += [
            f"## {trouble.name[0].upper()}{trouble.name[1:]}",
            "",
            f"{trouble.told} {trouble.meaning}",
            "",
        ]
        lines += [*_table(cells, rates), ""]
    lines += ["## Through files", "", *_files(files), ""]
    lines += ["## Where a promise is not kept", "", *_broken(rates)]
    return "\n".join(lines) + "\n"


def _head(facts: Mapping[str, Any]) -> str:
    return HEAD.read_text(encoding="utf-8").format(
        date=datetime.date.today().isoformat(),
        version=VERSION,
        chunk=CHUNK,
        surfaces=SURFACES,
        launches=LAUNCHES,
        level=LEVEL,
        margin=MARGIN_SES,
        lowest=LOWEST,
        highest=HIGHEST,
        errors=ERRORS,
        **facts,
    )


def _table(cells: Sequence[Cell], rates: Mapping[str, Rates]) -> Iterator[str]:
    shown = {
        title: name for title, name in COLUMNS.items() if any(name in rates[cell.name] for cell in cells)
    }
    yield f"| layout | {' | '.join(shown)} |"
    yield f"|---|{'---:|' * len(shown)}"
    promised = dict(zip(COLUMNS, PROMISED, strict=True))
    yield f"| *promised* | {' | '.join(promised[title] for title in shown)} |"
    for cell in cells:
        found = rates[cell.name]
        row = [_cell(name, found, cell.trouble) for name in shown.values()]
        yield f"| {cell.layout.name} | {' | '.join(row)} |"
    lacking = [(cell, found) for cell in cells if (found := rates[cell.name]["no test"]).total]
    if lacking:
        yield ""
        told = [f"{found.rate:.2%} of {cell.layout.name}" for cell, found in lacking]
        yield f"Comparisons that lost too much to be tested, and claim nothing: {', '.join(told)}."


def _cell(name: str, found: Rates, trouble: Trouble) -> str:
    if name not in found:
        return ""
    parts = [part for part in found if part.startswith(f"{name}, treatment")]
    if len(set(trouble.spread)) > 1 and parts:  # one comparison gains what the other loses
        return " and ".join(_marked(name, found[part]) for part in sorted(parts))
    return _marked(name, found[name])


def _marked(name: str, sums: Sums) -> str:
    text = concise(sums)
    return f"**{text}**" if is_broken(name, sums) else text


def is_broken(name: str, sums: Sums) -> bool:
    """Whether a rate is outside what is promised."""
    if name.startswith("false difference"):
        return not LOWEST <= sums.rate <= HIGHEST
    if name == "coverage":
        return sums.rate < 1 - HIGHEST
    if name.startswith("false") or name in FAMILY:
        return sums.rate > LEVEL + ERRORS * sums.error
    return False


def concise(sums: Sums) -> str:
    """Rate with its standard error in the last digit, such as 0.0503(4).

    Examples
    --------
    >>> concise(Sums(studies=100_000, total=5030.0, squares=5030.0))
    '0.0503(7)'
    """
    digits = max(2, math.ceil(-math.log10(sums.error)))
    if digits > 2 and round(sums.error * 10**digits) == 10:
        digits -= 1
    return f"{sums.rate:.{digits}f}({max(1, round(sums.error * 10**digits))})"


def _files(files: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    yield "Studies without an effect, written as tables and judged from them as anybody would. Every number"
    yield "of the verdict is compared with what the fast path says about the same readings."
    yield ""
    yield "| studies | line | difference | any difference | largest disagreement | other verdicts |"
    yield "|---:|---|---:|---:|---:|---:|"
    for found in files:
        single, family = found["false difference"], found["any false difference"]
        yield (
            f"| {single.studies} | {found['name'].replace(' | ', ', ')} | {concise(single)} "
            f"| {concise(family)} | {found['off']:.1g} | {found['other verdicts']} |"
        )


def _broken(rates: Mapping[str, Rates]) -> Iterator[str]:
    """Tell every broken promise, and why it is broken."""
    found = [(cell, broken) for cell in all_cells() if (broken := list(_broken_in(cell, rates[cell.name])))]
    if not found:
        yield "Nowhere in these tables."
    for trouble in TROUBLES:
        mine = [(cell, broken) for cell, broken in found if cell.trouble is trouble]
        if mine:
            why = trouble.why or "Not explained: this may be a fault, and is to be looked into."
            told = "; ".join(f"{cell.layout.name}: {', '.join(broken)}" for cell, broken in mine)
            yield f"- *{trouble.name[0].upper()}{trouble.name[1:]}*. {why} ({told}.)"


def _broken_in(cell: Cell, found: Rates) -> Iterator[str]:
    titles = {name: title for title, name in COLUMNS.items()}
    for name, title in titles.items():
        parts = [part for part in found if part.startswith(f"{name}, treatment")]
        names = sorted(parts) if len(set(cell.trouble.spread)) > 1 and parts else [name]
        for part in names:
            if is_broken(name, found.get(part, NOTHING)) and part in found:
                yield f"{title} {concise(found[part])}{part.removeprefix(name).replace(',', ' for')}"
