"""Times that were measured outside, for the study that names the log they are taken from."""

from __future__ import annotations

from evenglide.fieldlog.pace import pace_of
from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.plan.measured import TimedStudy, with_measured_times
from evenglide.steps.sealed_study import sealed_study
from evenglide.store.log import read_log
from evenglide.store.study_folder import file_in, log_path
from evenglide.study.study import Study


def timed(folder: str, study: Study) -> TimedStudy:
    """Take the times of a study from the log it names; as it is if it names none."""
    if not study.costs.measured:
        return TimedStudy(study=study, measured=())
    path = log_path(file_in(folder, study.costs.measured))
    earlier = sealed_study(read_log(path), where=path)
    plan = phone_plan(earlier.study, earlier.schedule, fingerprint=earlier.seal.fingerprint)
    return with_measured_times(study, pace_of(plan, earlier.state.facts))
