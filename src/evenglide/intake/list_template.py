"""The list to be filled in outside: the launches of the plan, and empty columns for what is seen."""

from __future__ import annotations

import csv
import io

from evenglide.intake.list_columns import FILLED, LAUNCH, PLANNED
from evenglide.show.cells import as_text
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study

GIVES_AWAY = ("preparation", "treatment")
"""Columns that tell which treatment a launch has."""


def list_template(study: Study, schedule: Schedule) -> str:
    """Write the list as CSV text.

    Parameters
    ----------
    study : Study
    schedule : Schedule

    Returns
    -------
    str
        One row for each launch. Where treatments are hidden from somebody, the columns that would
        give them away are left out.
    """
    hidden = GIVES_AWAY if study.hidden_from else ()
    shown = {name: attribute for name, attribute in PLANNED.items() if name not in hidden}
    if not any(launch.tag for launch in schedule.launches):
        del shown["tag"]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    filled = [as_text(study.response) if name == "reading" else name for name in FILLED]
    writer.writerow([LAUNCH, *shown, *filled])
    for launch in schedule.launches:
        planned = [as_text(str(getattr(launch, attribute))) for attribute in shown.values()]
        writer.writerow([launch.number, *planned, *("" for _ in FILLED)])
    return text.getvalue()
