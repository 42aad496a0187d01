"""One whole table of launches to one answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from evenglide.analysis.audit.conduct import audit_conduct
from evenglide.analysis.audit.layout import audit_layout
from evenglide.analysis.audit.readings import audit_readings
from evenglide.analysis.case import SurfaceCase, surface_case
from evenglide.analysis.claims import claims_of, family_of
from evenglide.analysis.components import mixed_model
from evenglide.analysis.joint import joint_randomisation
from evenglide.analysis.robustness import robustness_of
from evenglide.analysis.rule import TOLERANCE, Rule
from evenglide.answer.between import between_surfaces
from evenglide.answer.companions import companions_of
from evenglide.answer.contrast import stated_contrast
from evenglide.answer.facts import omnibus_of, scatter_on, treatment_facts
from evenglide.answer.look_facts import stated_looks
from evenglide.answer.results import Answer, Contrast, Provenance, ResponseFacts, SurfaceAnswer
from evenglide.readings.launches import Launches
from evenglide.show.notes import AuditEntry, audit_entry

if TYPE_CHECKING:
    from evenglide.analysis.looks import JudgedLooks

SEVERITIES = ("limits", "warns", "fine")


def answer_launches(
    launches: Launches,
    rule: Rule,
    *,
    provenance: Provenance,
    remarks: Sequence[AuditEntry] = (),
    looks: JudgedLooks | None = None,
) -> Answer:
    """Judge all launches by one rule.

    Parameters
    ----------
    launches : Launches
        Readings in the response's unit.
    rule : Rule
        Scale, margin and error rates, fixed before the launches were looked at.
    provenance : Provenance
        What the launches came from.
    remarks : sequence of AuditEntry, optional
        What was noticed on the way in.
    looks : JudgedLooks, optional
        Of a study with half-way checks; `launches` are then those that it holds.

    Returns
    -------
    Answer
    """
    surfaces = range(len(launches.surface.labels))
    cases = [surface_case(launches, surface, scale=rule.scale) for surface in surfaces]
    contrasts = _contrasts(cases, launches, rule, looks=looks)
    main = rule.main
    others = len(contrasts) - (0 if main is None else len(contrasts) // len(cases)) + rule.unmet
    audit = (*remarks, *_audit(launches, cases, rule), *_least_p(contrasts, cases, rule))
    return Answer(
        response=ResponseFacts(name=launches.response, unit=launches.unit, better=rule.better),
        level=rule.level,
        adjust=rule.adjust,
        scale=rule.scale,
        family_size=others,
        main_family_size=None if main is None else len(contrasts) // len(cases),
        main=None if main is None else launches.surface.labels[main],
        surfaces=tuple(_surface(case, contrasts, rule) for case in cases),
        between_surfaces=between_surfaces(cases, rule),
        audit=tuple(sorted(audit, key=lambda entry: SEVERITIES.index(entry.severity))),
        provenance=provenance,
    )


def _contrasts(
    cases: Sequence[SurfaceCase], launches: Launches, rule: Rule, *, looks: JudgedLooks | None
) -> dict[tuple[int, int], Contrast]:
    """Every treatment against the reference on every surface, by (surface, treatment)."""
    keys = list(product(range(len(cases)), range(1, len(launches.treatment.labels))))
    own = {key: cases[key[0]] if looks is None else looks.case(key, cases[key[0]]) for key in keys}
    if looks is None:
        claims = [
            claims_of(own[key].test.contrast(key[1]), rule.margin_on(key[0])).as_array() for key in keys
        ]
        family = family_of(keys, np.stack(claims, axis=1), rule)
    else:
        bounds = [looks.in_force(key).bounds[key] for key in keys]
        family = family_of(keys, np.stack([looks.p[key] for key in keys], axis=1), rule, bounds=bounds)
    drawn = next(iter(rule.drawn.values()), None)  # shared preparations have one draw for all surfaces
    others = {treatment for _, treatment in keys} if launches.shared else set()
    joint = {treatment: joint_randomisation(cases, treatment, drawn=drawn) for treatment in others}
    different = {id(case): case for case in own.values()}
    robustness = {at: robustness_of(one, rule.margin_on(one.surface)) for at, one in different.items()}
    mixed = {at: mixed_model(one) for at, one in different.items()}
    return {
        key: stated_contrast(
            companions_of(
                robustness[id(own[key])],
                key[1],
                family=family,
                index=i,
                mixed=mixed[id(own[key])],
                joint=joint.get(key[1]),
            ),
            looks=None if looks is None else stated_looks(looks, key),
        )
        for i, key in enumerate(keys)
    }


def _surface(case: SurfaceCase, contrasts: dict[tuple[int, int], Contrast], rule: Rule) -> SurfaceAnswer:
    launches = case.launches
    treatments = range(1, len(launches.treatment.labels))
    return SurfaceAnswer(
        surface=launches.surface.labels[case.surface] if launches.surface.named else None,
        mark=case.observations.mark,
        after_s=rule.after_s.get(case.surface),
        margin=rule.margin_on(case.surface),
        treatments=treatment_facts(case),
        omnibus=omnibus_of(case),
        contrasts=tuple(contrasts[case.surface, treatment] for treatment in treatments),
        scatter=scatter_on(case),
    )


def _audit(launches: Launches, cases: Sequence[SurfaceCase], rule: Rule) -> Iterator[AuditEntry]:
    yield from audit_layout(launches, cases)
    yield from audit_conduct(launches, cases, rule)
    yield from audit_readings(launches, cases)
    if not rule.scale_stated:
        ratio = rule.scale == "ratio"
        yield audit_entry(
            "scale-chosen",
            scale="ratios" if ratio else "differences",
            reason="all readings are above nought" if ratio else "some readings are not above nought",
        )


def _least_p(
    contrasts: dict[tuple[int, int], Contrast], cases: Sequence[SurfaceCase], rule: Rule
) -> Iterator[AuditEntry]:
    """Say where the randomisation test could not reject whatever the launches had shown."""
    count = len(contrasts) if rule.adjust != "none" else 1
    needed = rule.level / count
    for (surface, _), contrast in contrasts.items():
        least = contrast.smallest_p
        if least is not None and least > needed + TOLERANCE:
            launches = cases[surface].launches
            name = launches.surface.labels[surface] if launches.surface.named else None
            yield audit_entry(
                "randomisation-cannot-reject",
                surface=name,
                treatment=contrast.treatment,
                least=least,
                needed=needed,
            )
