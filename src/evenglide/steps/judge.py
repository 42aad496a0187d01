"""Judge a table: read it, answer it, tell it, write the report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

from evenglide.answer.provenance import table_provenance
from evenglide.answer.remarks import audit_of_remarks
from evenglide.answer.results import Answer
from evenglide.answer.rule import rule_for
from evenglide.answer.table import answer_launches
from evenglide.errors import OptionError, Problem
from evenglide.intake.launches import Intake, launches_from_columns, launches_from_table
from evenglide.intake.options import JudgeOptions
from evenglide.readings.launches import Launches
from evenglide.show.typed import did_you_mean, listing, quoted

if TYPE_CHECKING:
    from evenglide.report.wording import Wording


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """An answer with the launches it rests on and where they came from."""

    answer: Answer
    launches: Launches
    options: JudgeOptions
    source: str


def judge_table(path: str, options: Mapping[str, Any]) -> Judged:
    """Read a table from a file and judge it; options as on the command line."""
    from evenglide.store.tables import read_table

    checked = _options(options)
    table, sha256 = read_table(path, checked)
    return _judged(launches_from_table(table, checked), checked, source=path, sha256=sha256)


def judge(table: Any, **options: Any) -> Answer:
    """Judge a table of launches: whether the treatment makes a difference, and by how much.

    Parameters
    ----------
    table : str, path or mapping of column name to sequence
        A CSV or XLSX file, or columns in memory (a data frame will do), one row per launch.
    **options
        As on the command line, with underscores: `response` and `treatment` (columns, required),
        `reference`, `surface`, `block`, `preparation`, `shared_preparations`, `item`, `order`,
        `direction`, `mark`, `session`, `stays`, `void`, `at_least`, `matters`, `scale`, `level`,
        `adjust`, `sheet`, `decimal`, `encoding`.

    Returns
    -------
    Answer
        Prints as text, shows as HTML in a notebook, and `to_dict` gives the published JSON.

    Raises
    ------
    TableError
        Everything that is wrong with the table, at once.
    OptionError
        Options that contradict each other.
    """
    return judged(table, **options).answer


def judged(table: Any, **options: Any) -> Judged:
    """Judge a file or columns in memory, keeping the launches beside the answer."""
    if not hasattr(table, "keys"):
        return judge_table(str(table), options)
    checked = _options(options)
    intake, sha256 = launches_from_columns(table, checked)
    return _judged(intake, checked, source="columns in memory", sha256=sha256)


def write_report(table: Any, out: str, **options: Any) -> Answer:
    """Judge a table and write the report as one HTML file.

    Parameters
    ----------
    table : str, path or mapping of column name to sequence
        As for `judge`.
    out : str or path
        File to write.
    **options
        As for `judge`.

    Returns
    -------
    Answer
    """
    made = judged(table, **options)
    write_judged(made, str(out))
    return made.answer


def write_judged(judged: Judged, out: str, *, name: str | None = None, title: str | None = None) -> None:
    """Write the report of a judged table, under a name and a question of its own if they are given."""
    from evenglide.report.command import judge_command
    from evenglide.report.page import report_html
    from evenglide.store.pages import write_page

    page = report_html(
        judged.answer,
        judged.launches,
        wording=_wording(judged),
        source_name=name or judged.source,
        repeat_with=judge_command(judged.source, judged.options),
        title=title,
    )
    write_page(out, page, never_over=judged.source)


def answer_in_words(judged: Judged) -> str:
    """Tell an answer for a terminal."""
    from evenglide.report.text import answer_text

    return answer_text(judged.answer, _wording(judged), shared=judged.launches.shared)


def _wording(judged: Judged) -> Wording:
    from evenglide.report.wording import choose_wording

    return choose_wording(judged.answer.response.unit, mark_given=judged.launches.mark.named)


def _options(options: Mapping[str, Any]) -> JudgeOptions:
    """Options by name; one that does not exist is told with its nearest."""
    known = [field.name for field in fields(JudgeOptions)]
    unknown = [name for name in options if name not in known]
    if unknown:
        raise OptionError([_no_such_option(name, known) for name in unknown])
    return JudgeOptions(**options)


def _no_such_option(name: str, known: list[str]) -> Problem:
    return Problem(
        code="no-such-option",
        where=name,
        found=f"an option called {quoted(name)}",
        expected="one that judging knows",
        remedy=did_you_mean(name, known, otherwise=f"It knows {listing(known)}."),
    )


def _judged(intake: Intake, options: JudgeOptions, *, source: str, sha256: str) -> Judged:
    answer = answer_launches(
        intake.launches,
        rule_for(intake, options),
        provenance=table_provenance(sha256),
        remarks=audit_of_remarks(intake.remarks),
    )
    return Judged(answer=answer, launches=intake.launches, options=options, source=source)
