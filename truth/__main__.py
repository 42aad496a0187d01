"""Measure how often answers would be wrong: ``python -m truth``, or ``python -m truth WORD ...`` for some.

Without words every layout is played under every trouble and the page is written; with words only the lines
whose names hold one of them are played and printed. The numbers go to ``truth/results/`` too.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import json
import multiprocessing
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

from evenglide.constants import VERSION
from truth.cells import Rates, all_cells, run_cell
from truth.files import SCENARIOS, through_files
from truth.page import COLUMNS, concise, page
from truth.rates import Sums

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / "truth" / "results" / "truth.json"
PAGE = ROOT / "docs" / "truth.md"


def main(arguments: list[str]) -> int:
    """Play the cells and write what came out."""
    options = _options(arguments)
    cells = [cell for cell in all_cells() if not options.words or any(w in cell.name for w in options.words)]
    if not cells:
        print(f"truth: no line is called {' or '.join(options.words)}")
        return 2
    for library in ("OPENBLAS", "OMP", "MKL"):
        os.environ[f"{library}_NUM_THREADS"] = "1"  # the processes share the cores
    started = time.monotonic()
    names = [cell.name for cell in cells]
    with ProcessPoolExecutor(options.workers, mp_context=multiprocessing.get_context("spawn")) as pool:
        filed = [] if options.words else [_submit_file(pool, name, options) for name in SCENARIOS]
        running = [pool.submit(run_cell, cell, studies=options.studies, seed=options.seed) for cell in cells]
        rates: dict[str, Rates] = {}
        for name, one in zip(names, running, strict=True):
            rates[name] = one.result()
            print(_line(name, rates[name]), flush=True)
        files = [one.result() for one in filed]
    facts = {
        "studies": options.studies,
        "seed": options.seed,
        **{name: importlib.metadata.version(name) for name in ("numpy", "scipy")},
    }
    _write_results(rates, files, facts=facts)
    if not options.words:
        PAGE.write_text(page(rates, files, facts=facts), encoding="utf-8")
        print(f"written to {PAGE.relative_to(ROOT)}")
    print(f"{len(cells)} lines, {time.monotonic() - started:.0f} s")
    return 0


def _submit_file(pool: ProcessPoolExecutor, name: str, options: argparse.Namespace) -> Any:
    return pool.submit(partial(through_files, studies=options.files, seed=options.seed), name)


def _options(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m truth", description=__doc__)
    parser.add_argument("words", nargs="*", help="play only lines whose names hold one of these")
    parser.add_argument("--studies", type=int, default=100_000, help="studies in each line")
    parser.add_argument("--files", type=int, default=300, help="studies judged from files, in each scenario")
    parser.add_argument("--seed", type=int, default=20260117)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="processes")
    return parser.parse_args(arguments)


def _line(name: str, rates: Rates) -> str:
    shown = (f"{title} {concise(rates[key])}" for title, key in COLUMNS.items() if key in rates)
    return f"{name}: {', '.join(shown)}"


def _write_results(rates: dict[str, Rates], files: list[dict[str, Any]], *, facts: dict[str, Any]) -> None:
    RESULTS.parent.mkdir(exist_ok=True)
    cells = {name: {key: _plain(sums) for key, sums in found.items()} for name, found in rates.items()}
    plain_files = [
        {key: _plain(value) if isinstance(value, Sums) else value for key, value in found.items()}
        for found in files
    ]
    text = json.dumps(
        {"evenglide": VERSION, **facts, "cells": cells, "files": plain_files}, indent=1, ensure_ascii=False
    )
    RESULTS.write_text(text + "\n", encoding="utf-8")


def _plain(sums: Sums) -> dict[str, float]:
    return {"studies": sums.studies, "rate": sums.rate, "error": sums.error}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
