"""The typeface: found in its package, cut down to what a page uses, made known to the renderer.

Bytes in, bytes out. The renderer of charts takes no weights between regular and bold from a
variable font; whoever needs them in a picture made of pixels writes the files of `cut_weights` into
a directory and names it.
"""

from __future__ import annotations

import io
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

PACKAGE = "fontpkg_ibm_plex_sans"
FACE = "IBMPlexSans[wdth,wght].ttf"
WEIGHTS = (400, 600)
"""Lightest and heaviest weight used on a page."""

CUT_WEIGHTS = (500, 600)
ALWAYS = (
    "".join(chr(code) for code in range(0x20, 0x7F))
    + "\u00a0\u2009\u202f\u2212\u2013\u2026\u2018\u2019\u201c\u201d\u00b7\u2022\u2192\u2265\u2264\u00d7\u00b1"
)
FEATURES = ["kern", "liga", "ccmp", "locl", "mark", "mkmk", "lnum", "rvrn"]


def subset_font(text: str) -> bytes:
    """Cut the variable typeface down to the characters of a text, as WOFF2.

    Parameters
    ----------
    text : str
        Everything the page says. Characters the typeface lacks are left to the reader's own fonts.

    Returns
    -------
    bytes
        Same text, same bytes.
    """
    return _cut(set(text) | set(ALWAYS), weight=WEIGHTS, flavor="woff2")


@cache
def register_typeface() -> None:
    """Make the typeface known to the renderer of charts, once in a process."""
    import vl_convert

    vl_convert.register_font_directory(str(files(PACKAGE) / "files"))


def cut_weights() -> dict[str, bytes]:
    """Cut the weights between regular and bold out of the variable typeface, each as a TrueType file.

    Returns
    -------
    dict of str to bytes
        Name of the file and its content; for `to_png`, whose renderer knows regular and bold only.
    """
    latin = {chr(code) for code in range(0x20, 0x250)} | set(ALWAYS)
    return {f"{weight}.ttf": _cut(latin, weight=weight, flavor=None) for weight in CUT_WEIGHTS}


def _cut(characters: set[str], *, weight: float | tuple[float, float], flavor: str | None) -> bytes:
    """Cut the typeface down to some characters and to one weight or a range of weights."""
    from fontTools import subset
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    font = TTFont(io.BytesIO(_face().read_bytes()), lazy=True, recalcTimestamp=False)
    options = subset.Options(layout_features=FEATURES, notdef_outline=True, recalc_timestamp=False)
    if flavor is not None:
        options.name_IDs = [1, 2]
    cutter = subset.Subsetter(options)
    cutter.populate(text="".join(sorted(characters)))
    cutter.subset(font)
    named = flavor is None  # a file of its own is found by its name, one inside a page is not
    cut = instancer.instantiateVariableFont(font, {"wdth": 100, "wght": weight}, updateFontNames=named)
    cut.flavor = flavor
    written = io.BytesIO()
    cut.save(written)
    return written.getvalue()


def _face() -> Traversable:
    return files(PACKAGE) / "files" / FACE
