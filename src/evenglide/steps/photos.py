"""Keep the photo of a set-up, and show it again."""

from __future__ import annotations

from evenglide.store import photos


def keep_photo(folder: str, content: bytes) -> str:
    """Keep a photo of a study; parameters, result and errors as for `photos.keep_photo`."""
    return photos.keep_photo(folder, content)


def read_photo(folder: str, name: str) -> bytes | None:
    """Return a photo of a study; None if there is none of that name."""
    return photos.read_photo(folder, name)
