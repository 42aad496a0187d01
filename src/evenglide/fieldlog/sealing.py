"""The seal as an event, and whether it still says what its fingerprint was taken of."""

from __future__ import annotations

from evenglide.fieldlog.bodies import Sealed
from evenglide.study.seal import Seal, fingerprint


def sealed_body(seal: Seal) -> Sealed:
    """Make the body that records a seal."""
    return Sealed(
        study_text=seal.study_text,
        schedule_text=seal.schedule_text,
        order_rule=seal.order_rule,
        seed=seal.seed,
        software=seal.version,
        fingerprint=seal.fingerprint,
    )


def seal_holds(body: Sealed) -> bool:
    """Whether the texts of a seal give its fingerprint."""
    made = fingerprint(
        body.study_text,
        body.schedule_text,
        order_rule=body.order_rule,
        seed=body.seed or 0,
        version=body.software,
    )
    return made == body.fingerprint
