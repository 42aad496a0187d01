"""``evenglide judge`` as a process, in CPU seconds and peak memory, beside bare Python in the same run.

Goals: ``--help`` within 0.15 s, 72 launches on each of four surfaces within 1.0 s, a table of 10 MB
and 100,000 rows within 5 s and 500 MB.
"""

from __future__ import annotations

import csv
import random
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROUNDS = 5
ROLES = ("treatment", "surface", "block", "preparation", "item", "order")
JUDGE = [
    *("--response", "distance_m", "--matters", "5 %"),
    *(word for role in ROLES for word in (f"--{role}", role)),
]


def run() -> list[dict[str, Any]]:
    """Measure every case `ROUNDS` times, the cases taking turns."""
    with tempfile.TemporaryDirectory() as folder:
        small, large = Path(folder, "small.csv"), Path(folder, "large.csv")
        write_table(small, surfaces=4, blocks=6, launches=6)
        write_table(large, surfaces=4, blocks=2083, launches=6)
        cases = {
            "bare python": ["-c", "pass"],
            "--help": ["-m", "evenglide", "--help"],
            "72 launches x 4 surfaces": ["-m", "evenglide", "judge", str(small), *JUDGE, "--json"],
            "100,000 rows, 10 MB": ["-m", "evenglide", "judge", str(large), *JUDGE, "--json"],
        }
        measured: dict[str, list[tuple[float, float]]] = {name: [] for name in cases}
        for _ in range(ROUNDS):
            for name, command in cases.items():
                measured[name].append(cpu_and_memory(command))
    base = statistics.median(seconds for seconds, _ in measured["bare python"])
    return [
        {
            "case": name,
            "cpu s": statistics.median(seconds for seconds, _ in values),
            "least": min(seconds for seconds, _ in values),
            "most": max(seconds for seconds, _ in values),
            "x bare python": statistics.median(seconds for seconds, _ in values) / base,
            "peak MB": max(megabytes for _, megabytes in values),
        }
        for name, values in measured.items()
    ]


def cpu_and_memory(command: list[str]) -> tuple[float, float]:
    """CPU seconds (user and system) and peak memory of one process."""
    program = (
        "import resource, subprocess, sys;"
        "subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=True);"
        "use = resource.getrusage(resource.RUSAGE_CHILDREN);"
        "print(use.ru_utime + use.ru_stime, use.ru_maxrss / 1024)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, sys.executable, *command], capture_output=True, text=True, check=True
    )
    seconds, megabytes = done.stdout.split()
    return float(seconds), float(megabytes)


def write_table(path: Path, *, surfaces: int, blocks: int, launches: int) -> None:
    """Invent pairs of preparations, launched in turn; as many launches per preparation on each surface."""
    rng = random.Random(7)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["distance_m", *ROLES, "remark"])
        number = 0
        for surface in range(surfaces):
            for block in range(blocks):
                swap = rng.random() < 0.5
                for launch in range(2 * launches):
                    number += 1
                    item = (launch + 1) // 2 % 2
                    treatment = "wax" if (item == 1) != swap else "bare"
                    distance = 6.0 * (1 + rng.gauss(0, 0.06))
                    label = f"s{surface}b{block}i{item}"
                    place = (f"surface {surface}", f"round {block}", label, f"slider {item}", number)
                    writer.writerow(
                        [
                            f"{distance:.2f}",
                            treatment,
                            *place,
                            "nothing to remark about this launch, invented",
                        ]
                    )
