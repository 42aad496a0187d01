"""What is wrong with a document, as problems with paths such as ``surface[2].after``, counted from 0."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from evenglide.errors import Problem
from evenglide.show.typed import did_you_mean, listing, quoted
from evenglide.study.document_models import TABLES, Table, keys_of

Path = tuple[str | int, ...]

NOTHING = "nothing"
_EXPECTED = {
    "string_type": "a text in quotes",
    "int_type": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "list_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
}
_LIMITS = {
    "greater_than": "a number above {gt}",
    "greater_than_equal": "a number of at least {ge}",
    "less_than": "a number below {lt}",
    "less_than_equal": "a number of at most {le}",
    "too_short": "at least {min_length} in the list",
    "too_long": "at most {max_length} in the list",
}


class Findings:
    """Problems of one document; what hangs on a path that is already blamed is not blamed again."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self._document = document
        self._blamed: set[Path] = set()
        self.problems: list[Problem] = []

    def add(self, code: str, path: Path, *, expected: str, remedy: str, found: str | None = None) -> None:
        """Note one problem, unless its path or a table around it has one already."""
        if self.blames(path):
            return
        self._blamed.add(path)
        told = found if found is not None else _shown(value_at(self._document, path))
        self.problems.append(
            Problem(
                code=code,
                where=written(path),
                found=f"{told}{self._of_whom(path)}",
                expected=expected,
                remedy=remedy,
            )
        )

    def blames(self, path: Path) -> bool:
        """Whether the value at a path cannot be relied on."""
        return any(path[:length] in self._blamed for length in range(1, len(path) + 1))

    def blames_below(self, path: Path) -> bool:
        """Whether something at, around or below a path cannot be relied on."""
        return self.blames(path) or any(blamed[: len(path)] == path for blamed in self._blamed)

    def add_invalid(self, error: ValidationError) -> None:
        """Note everything that pydantic found."""
        for detail in error.errors(include_url=False):
            path = tuple(detail["loc"])
            self.add(**_told(detail, path), path=path)

    def add_missing(self) -> None:
        """Note keys that must be there and are not."""
        for path, table, content in _tables(self._document):
            for key in table.required:
                if key not in content:
                    self.add(
                        "missing-key",
                        (*path, key),
                        found=NOTHING,
                        expected=f"the key {quoted(key)}" if path else f"{key}",
                        remedy="Add it." if path else f"Add {_heading(key)}.",
                    )

    def _of_whom(self, path: Path) -> str:
        """Name the entry of a list of tables, since nobody counts surfaces from nought."""
        if len(path) < 3 or not isinstance(path[1], int):
            return ""
        name = value_at(self._document, (path[0], path[1], "name"))
        return f" (of {quoted(name)})" if isinstance(name, str) and name.strip() else ""


def written(path: Path) -> str:
    """Write a path as people do: ``surface[2].after``.

    Examples
    --------
    >>> written(("surface", 2, "after")), written(())
    ('surface[2].after', 'study.toml')
    """
    told = ""
    for part in path:
        told += f"[{part}]" if isinstance(part, int) else f".{part}" if told else part
    return told or "study.toml"


def value_at(document: Any, path: Path) -> Any:
    """Value that stands at a path; None where nothing does."""
    for part in path:
        if isinstance(document, Mapping) and isinstance(part, str):
            document = document.get(part)
        elif isinstance(document, list) and isinstance(part, int) and part < len(document):
            document = document[part]
        else:
            return None
    return document


def without(document: Mapping[str, Any], path: Path) -> None:
    """Take the value at a path out of a document; in a list of plain values, the whole list.

    An entry that should be a table and is not is replaced by an empty one, so that the others keep
    their places.
    """
    for length in range(len(path), 0, -1):
        holder, key = value_at(document, path[: length - 1]), path[length - 1]
        if isinstance(holder, list) and isinstance(key, int) and path[: length - 1] in _LISTS:
            holder[key] = {}
            return
        if isinstance(holder, dict):
            holder.pop(key, None)
            return


_LISTS: set[Path] = {("treatment",), ("item",), ("surface",), ("costs", "outings")}


def _tables(document: Mapping[str, Any]) -> list[tuple[Path, type[Table], Mapping[str, Any]]]:
    """List the tables that stand in a document, with their paths."""
    found: list[tuple[Path, type[Table], Mapping[str, Any]]] = []
    for keys, table in TABLES.items():
        content = value_at(document, keys)
        if isinstance(content, list):
            found += [((*keys, at), table, entry) for at, entry in enumerate(content) if _is_table(entry)]
        elif _is_table(content):
            found.append((keys, table, content))
    return found


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping)


def _told(detail: ErrorDetails, path: Path) -> dict[str, Any]:
    """Code, found, expected and remedy for one finding of pydantic."""
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "study":
        return {"code": context["code"], "expected": context["expected"], "remedy": context["remedy"]}
    if kind == "extra_forbidden":
        return _unknown_key(path)
    if kind == "literal_error":
        return {
            "code": "bad-choice",
            "expected": f"one of {context['expected']}".replace("'", '"').replace(" or ", ", "),
            "remedy": "Write one of these.",
        }
    if kind in _LIMITS:
        return {
            "code": "out-of-range",
            "expected": _LIMITS[kind].format(**context),
            "remedy": "Correct it, or leave the key out.",
        }
    expected = _EXPECTED.get(kind, detail["msg"])
    return {"code": "bad-type", "expected": expected, "remedy": f"Write {expected}."}


def _unknown_key(path: Path) -> dict[str, Any]:
    key, table = str(path[-1]), TABLES[tuple(part for part in path[:-1] if isinstance(part, str))]
    known = keys_of(table)
    return {
        "code": "unknown-key",
        "found": f"the key {quoted(key)}",
        "expected": f"one of {listing(known)}",
        "remedy": did_you_mean(key, known, otherwise="Take it out, or keep it in the table [x]."),
    }


def _heading(key: str) -> str:
    if key == "format":
        return 'format = "evenglide.study/1" as the first line'
    return f"the table [{key}]" if key == "study" else f"at least one table [[{key}]]"


def _shown(value: object) -> str:
    """Show what stands in a document, in its own spelling as far as that is short."""
    if value is None:
        return NOTHING
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "a list" if value else "an empty list"
    return quoted(value) if isinstance(value, str) else str(value)
