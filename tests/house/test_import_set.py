"""Help must come at once, so what `evenglide --help` may import is fixed; slow libraries have their place."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator

import pytest

from tests.house.tree import SOURCE, named, parsed, project_files

NOT_FOR_HELP = {"fontTools", "jinja2", "numpy", "openpyxl", "pydantic", "rich", "scipy", "vl_convert"}
NEVER_AT_MODULE_LEVEL = ("scipy.stats", "pint")
IMPORTED = re.compile(r"^import time:\s+\d+ \|\s+\d+ \|\s*(\S+)$", re.MULTILINE)


def imported_by(*arguments: str) -> set[str]:
    """Top-level names that a fresh interpreter imports when run with `arguments`."""
    run = subprocess.run(
        [sys.executable, "-X", "importtime", *arguments], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr[-2000:]
    return {name.partition(".")[0] for name in IMPORTED.findall(run.stderr)}


def test_help_imports_nothing_heavy() -> None:
    names = imported_by("-m", "evenglide", "--help")
    assert {"click", "evenglide"} <= names, "the list of imports was not read"
    assert names & NOT_FOR_HELP == set()


def test_the_list_of_imports_would_show_a_heavy_one() -> None:
    assert "rich" in imported_by("-c", "import rich.console")


def module_level(body: list[ast.stmt]) -> Iterator[ast.Import | ast.ImportFrom]:
    """Imports that run when the module is imported; those for the type checker alone do not."""
    for statement in body:
        if isinstance(statement, ast.Import | ast.ImportFrom):
            yield statement
        elif isinstance(statement, ast.If) and "TYPE_CHECKING" in ast.unparse(statement.test):
            yield from module_level(statement.orelse)
        elif not isinstance(statement, ast.FunctionDef | ast.AsyncFunctionDef):
            for field in ("body", "orelse", "finalbody"):
                yield from module_level(getattr(statement, field, []))
            for handler in getattr(statement, "handlers", []):
                yield from module_level(handler.body)


def names_in(statement: ast.Import | ast.ImportFrom) -> set[str]:
    """Full names that an import statement may load."""
    if isinstance(statement, ast.Import):
        return {alias.name for alias in statement.names}
    module = statement.module or ""
    return {module} | {f"{module}.{alias.name}" for alias in statement.names if statement.level == 0}


def slow_imports(tree: ast.Module) -> set[str]:
    """Libraries that `tree` loads when imported, though it must not."""
    names = {name for statement in module_level(tree.body) for name in names_in(statement)}
    return {
        slow for slow in NEVER_AT_MODULE_LEVEL if any(f"{name}.".startswith(f"{slow}.") for name in names)
    }


def test_slow_libraries_are_imported_inside_functions_only() -> None:
    files = [path for path in project_files("src") if path.suffix == ".py"]
    assert files, SOURCE
    assert {named(path): slow for path in files if (slow := slow_imports(parsed(path)))} == {}


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("from scipy import stats", {"scipy.stats"}),
        ("import scipy.stats as s", {"scipy.stats"}),
        ("try:\n    import pint\nexcept ImportError:\n    pass", {"pint"}),
        ("class A:\n    from scipy.stats import t", {"scipy.stats"}),
        ("def f():\n    from scipy import stats", set()),
        ("import scipy.special\nfrom scipy.special import stdtrit", set()),
        ("if TYPE_CHECKING:\n    import pint", set()),
    ],
)
def test_module_level_is_told_from_inside(code: str, found: set[str]) -> None:
    assert slow_imports(ast.parse(code)) == found
