"""Many studies answered one after the other by the parts of an answer, to hold the batch against."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from evenglide.analysis.case import surface_case
from evenglide.analysis.claims import Family, claims_of, size_of, verdict_of
from evenglide.rehearsal.judging import Judge, Judged, comparisons_of
from evenglide.rehearsal.staging import Stage
from evenglide.typing import BoolArray, FloatArray

VERDICTS = ("open", "higher", "lower", "alike")
SIZES = ("unsettled", "small", "matters")


def one_by_one(stage: Stage) -> Judge:
    """Judge of a stage that answers each study by itself."""

    def judged(readings: FloatArray, void: BoolArray | None) -> Judged:
        found = [
            _answer(stage, readings[:, at], None if void is None else void[:, at])
            for at in range(readings.shape[1])
        ]
        verdict, size = np.array(found, dtype=np.int64).transpose(1, 2, 0)
        return Judged(verdict=verdict, size=size)

    return judged


def _answer(stage: Stage, readings: FloatArray, void: BoolArray | None) -> tuple[list[int], list[int]]:
    rule = stage.rule
    launches = replace(stage.launches, value=readings, void=stage.launches.void if void is None else void)
    names = launches.surface.labels
    keys = [(s, t) for s in range(len(names)) for t in range(1, len(launches.treatment.labels))]
    cases = [surface_case(launches, surface, scale=rule.scale) for surface in range(len(names))]
    estimates = [cases[s].test.contrast(t) for s, t in keys]
    claims = [claims_of(e, rule.margin_on(s)).as_array() for e, (s, _) in zip(estimates, keys, strict=True)]
    p = np.concatenate([np.stack(claims, axis=1), np.full((3, rule.unmet), np.nan)], axis=1)
    members = np.append([int(s == rule.main) for s, _ in keys], np.zeros(rule.unmet, dtype=np.int64))
    adjusted = Family(p=p, members=members.astype(np.int64), rule=rule).adjusted()
    wanted = {key: at for at, key in enumerate(comparisons_of(stage.study))}
    verdict, size = [0] * len(wanted), [0] * len(wanted)
    for at, (s, t) in enumerate(keys):
        place = wanted[names[s], launches.treatment.labels[t]]
        margin = rule.margin_on(s)
        verdict[place] = VERDICTS.index(verdict_of(adjusted[:, at], estimates[at].estimate, rule))
        size[place] = SIZES.index(size_of(adjusted[:, at], rule, margin=margin) or "unsettled")
    return verdict, size
