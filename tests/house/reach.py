"""The modules that the command line can reach, which is what the pages have to describe."""

from __future__ import annotations

from pathlib import Path

import grimp

from tests.house.tree import SOURCE

FACE = "evenglide.cli.main"
SERVED = "evenglide.web.app"
"""Named by the command line in a text: no import leads there."""


def reached_modules() -> set[str]:
    """Full names of all modules behind the command line, imports inside functions included."""
    graph = grimp.build_graph("evenglide", cache_dir=None)
    return {face for one in (FACE, SERVED) for face in (one, *graph.find_upstream_modules(one))}


def reached_rooms() -> set[str]:
    """Rooms behind the command line."""
    return {name.split(".")[1] for name in reached_modules() if "." in name}


def reached_files() -> list[Path]:
    """Files of those modules."""
    files = []
    for name in sorted(reached_modules()):
        module = SOURCE.joinpath(*name.split(".")[1:])
        files.append(module / "__init__.py" if module.is_dir() else module.with_suffix(".py"))
    return files
