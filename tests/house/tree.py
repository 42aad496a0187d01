"""The files of the project, as the house tests see them."""

from __future__ import annotations

import ast
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "evenglide"


def project_files(*under: str) -> list[Path]:
    """Files that are, or would be, under version control; also right in an unpacked source archive."""
    listed = subprocess.run(
        [
            "git",
            "-c",
            "safe.directory=*",
            "ls-files",
            "-z",
            "--cached",
            "--others",
            "--exclude-standard",
            "--",
            *under,
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if (ROOT / ".git").exists():
        listed.check_returncode()
        paths = [ROOT / name for name in listed.stdout.split("\0") if name]
        return sorted(path for path in paths if path.is_file())
    places = [ROOT / name for name in under or ("src", "tests", "tools", "bench", "truth", "docs", "locks")]
    return sorted(path for place in places for path in place.rglob("*") if keeps(path))


def keeps(path: Path) -> bool:
    """Whether `path` is a file that somebody wrote."""
    return path.is_file() and "__pycache__" not in path.parts


def text_of(path: Path) -> str | None:
    """Content of a text file; None for pictures, databases and the like."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None


def parsed(path: Path) -> ast.Module:
    """Syntax tree of a Python file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def named(path: Path) -> str:
    """Path as a person would say it."""
    return path.relative_to(ROOT).as_posix()
