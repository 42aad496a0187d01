"""Run every benchmark of this folder: ``python -m bench``, or ``python -m bench NAME ...`` for some.

With ``--page`` the tables go into ``docs/bench.md`` too.

A benchmark is a module here with a function ``run()`` that returns rows: a list of dictionaries with
the same keys, each a measured case. The rows are printed as a table and written, with the facts of the
machine they were measured on, to ``bench/results/``. Nothing here is a test: no time can fail a build.
"""

from __future__ import annotations

import datetime
import importlib
import importlib.metadata
import json
import os
import platform
import sys
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: times are those of one thread
HERE = Path(__file__).resolve().parent
Rows = list[dict[str, Any]]
MEASURED_WITH = ("evenglide", "numpy", "scipy")
PAGE = HERE.parent / "docs" / "bench.md"


def main(names: list[str]) -> int:
    """Run the benchmarks called `names`, or all of them."""
    page = "--page" in names
    names = [name for name in names if name != "--page"]
    known = sorted(path.stem for path in HERE.glob("*.py") if not path.stem.startswith("_"))
    unknown = sorted(set(names) - set(known))
    if unknown:
        print(f"bench: no benchmark called {', '.join(unknown)}; there are: {', '.join(known) or 'none'}")
        return 2
    results: dict[str, Rows] = {}
    for name in names or known:
        module = importlib.import_module(f"bench.{name}")
        if hasattr(module, "run"):
            results[name] = module.run()
            print(f"\n{name}\n{table(results[name])}", flush=True)
    if not results:
        print("bench: there is no benchmark yet")
        return 1
    print(f"\nwritten to {write(results).relative_to(HERE.parent)}")
    if page:
        print(f"and to {write_page(results).relative_to(HERE.parent)}")
    return 0


def table(rows: Rows) -> str:
    """Rows as aligned text, numbers to four digits."""
    if not rows:
        return "  (no rows)"
    columns = list(rows[0])
    cells = [columns, *([told(row[column]) for column in columns] for row in rows)]
    widths = [max(len(line[place]) for line in cells) for place in range(len(columns))]
    return "\n".join(
        "  " + "  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True))
        for line in cells
    )


def told(value: object) -> str:
    """One cell of the table."""
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def facts_of_this_machine() -> dict[str, Any]:
    """Say what a time means nothing without."""
    return {
        "python": platform.python_version(),
        "system": platform.platform(),
        "processor": platform.processor() or platform.machine(),
        "cores": os.cpu_count(),
        "versions": {name: importlib.metadata.version(name) for name in MEASURED_WITH},
    }


def write(results: dict[str, Rows]) -> Path:
    """Keep the rows with the facts without which a time means nothing."""
    now = datetime.datetime.now(datetime.UTC)
    facts = {"measured": now.isoformat(timespec="seconds"), **facts_of_this_machine()}
    folder = HERE / "results"
    folder.mkdir(exist_ok=True)
    path = folder / f"{now:%Y-%m-%dT%H%M%S}.json"
    path.write_text(json.dumps({**facts, "results": results}, indent=1) + "\n", encoding="utf-8")
    return path


def write_page(results: dict[str, Rows]) -> Path:
    """Write the tables as a page, each with what its module says about itself."""
    facts = facts_of_this_machine()
    today = datetime.datetime.now(datetime.UTC)
    versions = ", ".join(f"{name} {version}" for name, version in facts["versions"].items())
    parts = [
        "# How fast it is",
        f"Measured on {today:%Y-%m-%d} with Python {facts['python']}, {versions}, "
        f"on {facts['cores']} cores of a shared virtual machine, by `make bench ARGS=--page`. Times are CPU "
        "seconds of one thread unless a row says otherwise; what is compared takes turns in one run. A time"
        " on another machine is another time; the ratios travel better.",
    ]
    for name, rows in results.items():
        about = (importlib.import_module(f"bench.{name}").__doc__ or "").strip()
        parts += [f"## {name}", about, markdown(rows)]
    PAGE.write_text("\n\n".join(parts) + "\n", encoding="utf-8")
    return PAGE


def markdown(rows: Rows) -> str:
    """Rows as a table of a page."""
    columns = list(rows[0])
    lines = [columns, ["---"] * len(columns), *([told(row[column]) for column in columns] for row in rows)]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
