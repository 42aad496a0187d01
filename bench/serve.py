"""What the server costs with few records and with many, in milliseconds of CPU time in its own process.

Goals: a batch of 50 records and each page of the laptop cost the same with 100,000 records as with 1,000.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from evenglide.fieldlog.bodies import Noted
from evenglide.fieldlog.events import new_id
from evenglide.steps import laptop
from evenglide.steps.desk import Desk
from evenglide.store.log import now
from tests.field.large import fill
from tests.field.studies import planned, sealed_study

SIZES = (1_000, 10_000, 100_000)
ROUNDS = 7
BATCH = 50


def run() -> list[dict[str, Any]]:
    """Measure a start and each request at every size."""
    rows = []
    for records in SIZES:
        with tempfile.TemporaryDirectory() as place:
            folder = sealed_study(Path(place) / "study", blocks=6, launches=6)
            _, schedule = planned(folder)
            fill(folder, schedule, records=records)
            rows.append({"records": records, **_measured(str(folder))})
    return rows


def _measured(folder: str) -> dict[str, float]:
    began = time.process_time()
    desk = Desk(folder)
    found = {"start": 1000 * (time.process_time() - began)}
    numbers = iter(range(1, 10**6))

    def batch() -> None:
        sent = [_sent(next(numbers)) for _ in range(BATCH)]
        desk.receive(desk.plan["study"], sent)

    def day_after_one() -> None:
        desk.receive(desk.plan["study"], [_sent(next(numbers))])
        laptop.day_so_far(desk)

    cases: dict[str, Callable[[], object]] = {
        f"batch of {BATCH}": batch,
        "one record and /day": day_after_one,
        "/day again": lambda: laptop.day_so_far(desk),
        "/events": desk.told,
        "/stream, one look": desk.catch_up,
    }
    found |= {name: _typical(case) for name, case in cases.items()}
    desk.close()
    return found


def _typical(case: Callable[[], object]) -> float:
    """Median of some rounds, in milliseconds."""
    times = []
    for _ in range(ROUNDS):
        began = time.process_time()
        case()
        times.append(1000 * (time.process_time() - began))
    return statistics.median(times)


def _sent(number: int) -> dict[str, Any]:
    body = Noted(words=f"remark {number}, invented").to_dict()
    return {"id": new_id(), "device": "phone-bench", "sequence": number, "device_time": now(), "body": body}
