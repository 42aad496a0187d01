"""Keep the photo of a set-up, and show it again."""

from __future__ import annotations

from evenglide.store import photos


def keep_photo(folder: str, content: bytes) -> str:
    """Keep a photo of a study; parameters, result and errors as for `photos.keep_photo`."""
    return photos.keep_photo(folder, content)


def read_photo(folder: str, name: str) -> bytes | None:
    """Return a photo of a study; None if there is none of that name."""
    return photos.read_photo(folder, name)


def is_photo(name: str) -> bool:
    """Whether a name is one under which photos are kept; people write numbers of their own there too."""
    return photos.NAME.fullmatch(name) is not None
