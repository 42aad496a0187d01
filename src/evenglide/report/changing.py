"""What would change an answer: of the other ways of reckoning, those that give another one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from evenglide.answer.results import RobustnessLine
from evenglide.report.findings import Finding
from evenglide.report.headline import first_upper
from evenglide.report.wording import Wording
from evenglide.show.numbers import listed, spelled

VERDICTS = {
    "higher": "goes {more}",
    "lower": "goes {less}",
    "alike": "no difference that matters",
    "open": "too close to call",
}
PLAIN_VERDICTS = VERDICTS | {"higher": "{more}", "lower": "{less}"}

WITHOUT = re.compile(r"^Round (.+) left out$")
ARTICLES: Mapping[str, str] = {"drift": "a ", "first-half": "the ", "second-half": "the "}
"""What stands before a way of reckoning inside a sentence."""

SHORTER: Mapping[str, str] = {
    "outliers-out": "without the outlying launches",
    "filled-for": "with launches set aside or “at least” counted for the treatment",
    "filled-against": "with launches set aside or “at least” counted against the treatment",
}
"""Ways of reckoning whose own words are too long for the first screen."""

NAMED_AT_MOST = 3
"""Ways that lead to one answer, told one by one."""

TOLD_AT_MOST = 3
"""Lines of what would change an answer on the first screen."""


def verdict_words(verdict: str, wording: Wording) -> str:
    """Write a verdict as it would stand: ``goes farther``, ``too close to call``."""
    words = VERDICTS if wording.distance else PLAIN_VERDICTS
    return words[verdict].format(more=wording.more, less=wording.less)


def would_change(findings: Sequence[Finding]) -> tuple[str, ...]:
    """Name what would change an answer, one line for each answer that it would become.

    Returns
    -------
    tuple of str
        One line that nothing would, where that is so; empty where nothing could be reckoned
        otherwise.
    """
    reckoned = sum(_is_reckoned(line) for finding in findings for line in finding.contrast.robustness)
    lines = [line for finding in findings for line in _lines(finding)]
    if not lines:
        left = f"{spelled(reckoned)} other reckonings leave every answer as it is"
        return (f"Nothing of what was tried: {left}.",) if reckoned else ()
    told = lines[:TOLD_AT_MOST]
    more = len(lines) - len(told)
    return (*told, f"And {spelled(more)} more, listed in the report.") if more else tuple(told)


def _lines(finding: Finding) -> Iterable[str]:
    ways: dict[str, list[RobustnessLine]] = {}
    for line in finding.contrast.robustness:
        if line.changes and line.verdict is not None:
            ways.setdefault(line.verdict, []).append(line)
    for verdict, lines in ways.items():
        how = first_upper(ways_words(lines))
        yield f"{how}, {finding.spoken} would read: {verdict_words(verdict, finding.wording)}."


def ways_words(lines: Sequence[RobustnessLine]) -> str:
    """Name ways of reckoning inside a sentence: ``without round 2 or with the first half of ...``."""
    rounds = [found[1] for line in lines if (found := WITHOUT.match(line.text))]
    named = [f"without round {listed(rounds, last='or')}"] if rounds else []
    named += [_way(line) for line in lines if not WITHOUT.match(line.text)]
    if len(named) > NAMED_AT_MOST:
        named = [*named[: NAMED_AT_MOST - 1], f"in {spelled(len(named) - NAMED_AT_MOST + 1)} other ways"]
    return listed(named, last="or")


def _way(line: RobustnessLine) -> str:
    if line.code in SHORTER:
        return SHORTER[line.code]
    article = ARTICLES.get(line.code, "")
    return f"with {article}{line.text[:1].lower()}{line.text[1:]}"


def _is_reckoned(line: RobustnessLine) -> bool:
    return line.verdict is not None
