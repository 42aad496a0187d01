"""Reading study.toml: the whole document, and everything that is wrong with it at once."""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from evenglide.errors import Problem, StudyError
from evenglide.show.typed import quoted
from evenglide.study.document_checks import check
from evenglide.study.document_models import STUDY_FORMAT, StudyDocument
from evenglide.study.document_problems import Findings, without
from evenglide.study.document_records import study_from
from evenglide.study.study import Study

_KIND, _, _NUMBER = STUDY_FORMAT.partition("/")
_POSITION = re.compile(r"\s*\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)")


def read_study(content: bytes | str) -> Study:
    """Read the text of study.toml.

    Parameters
    ----------
    content : bytes or str
        Bytes must be UTF-8; a byte order mark is passed over.

    Returns
    -------
    Study

    Raises
    ------
    StudyError
        With every problem of the document, each with its path; what hides the rest of the document (an
        encoding, a syntax error, a newer format) stands alone.

    Examples
    --------
    >>> read_study("format = 'evenglide.study/2'")
    Traceback (most recent call last):
    evenglide.errors.StudyError: format: found "evenglide.study/2"; ...
    """
    document = _parsed(content)
    _check_format(document)
    findings = Findings(document)
    model = _modelled(document, findings)
    check(model, findings)
    if findings.problems:
        raise StudyError(findings.problems)
    return study_from(model)


def study_schema() -> dict[str, object]:
    """Return the JSON Schema of study.toml, as it looks when read.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    from evenglide.study.document_schema import schema_of_document

    return schema_of_document()


def _modelled(document: Mapping[str, Any], findings: Findings) -> StudyDocument:
    """Fit the document into its models; what does not fit is noted and left out."""
    kept = copy.deepcopy(dict(document))
    try:
        model = StudyDocument.model_validate(kept)
    except ValidationError as error:
        findings.add_invalid(error)
        for path in sorted((tuple(detail["loc"]) for detail in error.errors()), key=len, reverse=True):
            without(kept, path)
        model = StudyDocument.model_validate(kept)
    findings.add_missing()
    return model


def _parsed(content: bytes | str) -> dict[str, Any]:
    text = content if isinstance(content, str) else _decoded(content)
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(text, str(error)) from error
    except (RecursionError, ValueError) as error:  # deep nesting; impossible dates
        raise _syntax_error(text, str(error)) from error


def _decoded(content: bytes) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        line, column = before.count(b"\n") + 1, len(before) - (before.rfind(b"\n") + 1) + 1
        raise StudyError(
            [
                Problem(
                    code="not-decodable",
                    where=f"study.toml, line {line}, byte {column}",
                    found=f"a byte {content[error.start]:#04x}",
                    expected="text in UTF-8",
                    remedy="Save the file as UTF-8 in your editor.",
                )
            ]
        ) from error


def _syntax_error(text: str, message: str) -> StudyError:
    at = _POSITION.search(message)
    lines = text.splitlines() or [""]
    line = int(at["line"]) if at and at["line"] else len(lines)
    column = int(at["column"]) if at and at["column"] else len(lines[-1]) + 1
    said = _POSITION.sub("", message)
    there = lines[line - 1] if line <= len(lines) else ""
    return StudyError(
        [
            Problem(
                code="bad-syntax",
                where=f"study.toml, line {line}, column {column}",
                found=f"{quoted(there)}: {said[:1].lower()}{said[1:]}",
                expected="TOML: key = value, texts in quotes, headings in square brackets",
                remedy="Look at this line and the one before it; a quote or a bracket is often missing.",
            )
        ]
    )


def _check_format(document: Mapping[str, Any]) -> None:
    """A format of another kind or number may mean anything: nothing else is looked at."""
    stated = document.get("format")
    if stated == STUDY_FORMAT or stated is None:
        return
    kind, _, number = str(stated).partition("/")
    newer = kind == _KIND and number.isdecimal() and int(number) > int(_NUMBER)
    raise StudyError(
        [
            Problem(
                code="newer-format" if newer else "unknown-format",
                where="format",
                found=quoted(str(stated)),
                expected=quoted(STUDY_FORMAT),
                remedy="Use a newer evenglide for this study; it was not changed."
                if newer
                else f'Write format = "{STUDY_FORMAT}" if this is a study.',
            )
        ]
    )
