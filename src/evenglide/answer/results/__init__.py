"""What an answer holds: plain frozen facts, field for field the published JSON.

The classes here *are* the format ``evenglide.answer/1``: `Answer.to_dict` writes each field under its
own name, and the published schema is made from the annotations. Fields may be added, never renamed.
Numbers stand on the analysis scale (natural logarithm for ``scale = "ratio"``) unless a field says
otherwise. A number that this analysis would normally give and could not is None, and a note whose
`fields` names it says why.
"""

from evenglide.answer.results.conduct import (
    ConditionRange,
    Conduct,
    Guesses,
    Objection,
    SetAsideCount,
    Wear,
)
from evenglide.answer.results.contrast import (
    Contrast,
    Naive,
    Omnibus,
    OwnPair,
    Reml,
    RobustnessLine,
    Scatter,
    ToClose,
    TreatmentFacts,
)
from evenglide.answer.results.looks import Looks, OneLook
from evenglide.answer.results.plain import to_plain
from evenglide.answer.results.whole import (
    ANSWER_FORMAT,
    Answer,
    BetweenSurfaces,
    Provenance,
    ResponseFacts,
    SurfaceAnswer,
    SurfacePair,
)
from evenglide.show.departures import Departure
from evenglide.show.notes import AuditEntry, Note

__all__ = [
    "ANSWER_FORMAT",
    "Answer",
    "AuditEntry",
    "BetweenSurfaces",
    "ConditionRange",
    "Conduct",
    "Contrast",
    "Departure",
    "Guesses",
    "Looks",
    "Naive",
    "Note",
    "Objection",
    "Omnibus",
    "OneLook",
    "OwnPair",
    "Provenance",
    "Reml",
    "ResponseFacts",
    "RobustnessLine",
    "Scatter",
    "SetAsideCount",
    "SurfaceAnswer",
    "SurfacePair",
    "ToClose",
    "TreatmentFacts",
    "Wear",
    "to_plain",
]
