"""evenglide settles arguments about gear with evidence.

Names are loaded when first used, so that asking the command line for help costs nothing.

Examples
--------
>>> import evenglide
>>> table = {
...     "round": [1, 1, 2, 2, 3, 3, 4, 4],
...     "rub": ["bare", "wax", "wax", "bare", "bare", "wax", "wax", "bare"],
...     "metres": [3.1, 3.4, 3.6, 3.2, 3.0, 3.4, 3.5, 3.3],
... }
>>> answer = evenglide.judge(table, response="metres", treatment="rub", block="round", matters="5 %")
>>> answer.surfaces[0].contrasts[0].verdict
'higher'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from evenglide.constants import VERSION

if TYPE_CHECKING:
    from evenglide.answer.results import (
        Answer,
        BetweenSurfaces,
        Contrast,
        Omnibus,
        Provenance,
        RobustnessLine,
        SurfaceAnswer,
        ToClose,
        TreatmentFacts,
    )
    from evenglide.answer.schema import answer_schema, problems_schema
    from evenglide.errors import EvenglideError, OptionError, Problem, TableError
    from evenglide.report.charts import Chart, chart
    from evenglide.show.notes import AuditEntry, Note
    from evenglide.steps.judge import judge, write_report

__version__ = VERSION

_HOME = {
    "Answer": "answer.results",
    "AuditEntry": "show.notes",
    "BetweenSurfaces": "answer.results",
    "Chart": "report.charts",
    "Contrast": "answer.results",
    "EvenglideError": "errors",
    "Note": "show.notes",
    "Omnibus": "answer.results",
    "OptionError": "errors",
    "Problem": "errors",
    "Provenance": "answer.results",
    "RobustnessLine": "answer.results",
    "SurfaceAnswer": "answer.results",
    "TableError": "errors",
    "ToClose": "answer.results",
    "TreatmentFacts": "answer.results",
    "answer_schema": "answer.schema",
    "chart": "report.charts",
    "judge": "steps.judge",
    "problems_schema": "answer.schema",
    "write_report": "steps.judge",
}

__all__ = [
    "Answer",
    "AuditEntry",
    "BetweenSurfaces",
    "Chart",
    "Contrast",
    "EvenglideError",
    "Note",
    "Omnibus",
    "OptionError",
    "Problem",
    "Provenance",
    "RobustnessLine",
    "SurfaceAnswer",
    "TableError",
    "ToClose",
    "TreatmentFacts",
    "__version__",
    "answer_schema",
    "chart",
    "judge",
    "problems_schema",
    "write_report",
]


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'evenglide' has no attribute {name!r}")
    return getattr(import_module(f"evenglide.{_HOME[name]}"), name)


def __dir__() -> list[str]:
    return sorted(__all__)
