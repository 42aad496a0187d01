"""Start a study: a rider's answers become a commented study.toml."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenglide.store.study_folder import make_study_folder
from evenglide.study.document import read_study
from evenglide.study.first_draft import Answers, first_draft
from evenglide.study.writing import write_study


def new_study(folder: str, answers: Mapping[str, Any]) -> str:
    """Write the first draft of a study into a folder; what is written has been read back first.

    Returns
    -------
    str
        Path of study.toml.
    """
    text = write_study(first_draft(Answers(**answers)))
    read_study(text)
    return make_study_folder(folder, text)
