"""A file can be read in one sitting, a function in one look."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.house.tree import named, parsed, project_files

LONGEST_FILE = 400
LONGEST_FUNCTION = 60
WRITTEN = {".py", ".js", ".css", ".j2", ".html"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def files() -> list[Path]:
    """Code of the project, tests included."""
    return [
        path for path in project_files("src", "tests", "tools", "bench", "truth") if path.suffix in WRITTEN
    ]


def code_lines(function: Function, lines: list[str]) -> int:
    """Lines of a function that hold code: no docstring, no blank line, no comment."""
    inside = set(range(function.lineno, (function.end_lineno or function.lineno) + 1))
    if ast.get_docstring(function, clean=False) is not None:
        told = function.body[0]
        inside -= set(range(told.lineno, (told.end_lineno or told.lineno) + 1))
    return sum(1 for number in inside if (text := lines[number - 1].strip()) and not text.startswith("#"))


def long_functions(source: str) -> dict[str, int]:
    """Functions above the limit and their length."""
    lines = source.splitlines()
    functions = [node for node in ast.walk(ast.parse(source)) if isinstance(node, Function)]
    return {node.name: size for node in functions if (size := code_lines(node, lines)) > LONGEST_FUNCTION}


def test_no_file_is_too_long() -> None:
    sizes = {named(path): len(path.read_text(encoding="utf-8").splitlines()) for path in files()}
    assert {name: size for name, size in sizes.items() if size > LONGEST_FILE} == {}


def test_no_function_is_too_long() -> None:
    python = [path for path in files() if path.suffix == ".py"]
    assert len(python) > 5
    found = {
        named(path): long for path in python if (long := long_functions(path.read_text(encoding="utf-8")))
    }
    assert found == {}


@pytest.mark.parametrize(("statements", "found"), [(59, {}), (60, {"f": 61})])
def test_code_is_counted_without_docstring_comment_and_blank(statements: int, found: dict[str, int]) -> None:
    body = '    """Told\n\n    at length.\n    """\n    # why\n\n' + "    x = 1\n" * statements
    assert long_functions(f"def f():\n{body}") == found


def test_every_module_says_what_it_is_for() -> None:
    python = [path for path in project_files("src") if path.suffix == ".py"]
    assert [named(path) for path in python if not ast.get_docstring(parsed(path))] == []
