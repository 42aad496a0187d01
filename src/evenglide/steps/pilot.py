"""The table that a study takes its scatter from: found in its folder, read as launches."""

from __future__ import annotations

from evenglide.intake.pilot import pilot_launches
from evenglide.plan.scatter import pilot_file
from evenglide.readings.launches import Launches
from evenglide.store.study_folder import file_in
from evenglide.store.tables import read_list
from evenglide.study.study import Study


def pilot_of(folder: str, study: Study) -> Launches | None:
    """Launches of the table in the folder that the study takes its scatter from; None if it names none."""
    file = pilot_file(study)
    if file is None:
        return None
    sheet = read_list(file_in(folder, file))
    return pilot_launches(sheet, study.scatter.columns, response=study.response, scale=study.scale, file=file)
