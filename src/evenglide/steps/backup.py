"""Back up a study: its texts and clips, and its log by the database's own means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from evenglide.store.folder_backup import back_up_folder

BACKUP_FORMAT = "evenglide.backup/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class BackedUp:
    """Where the copy stands, and how many events and files it holds."""

    path: str
    events: int
    files: int

    def to_dict(self) -> Mapping[str, object]:
        """Return it as the plain ``evenglide.backup/1`` document."""
        return {"format": BACKUP_FORMAT, **asdict(self)}


def back_up(folder: str, target: str) -> BackedUp:
    """Copy the study in a folder to a new folder."""
    events, files = back_up_folder(folder, target)
    return BackedUp(path=target, events=events, files=files)
