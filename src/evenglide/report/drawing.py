"""Vega-Lite to SVG and PNG, cleaned so that a page can hold it.

The renderer gives every mark a role and a label of its own, which a screen reader would read out
one by one, and no title. Here the inner roles go, the whole becomes one picture with a title and a
description, identifiers become unique on the page, and colours become tokens that a page can swap.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from xml.etree import ElementTree

from evenglide.report.look import LIGHT, VEGA_LITE, VEGA_LITE_VERSION, chart_config
from evenglide.report.typeface import register_typeface

SVG = "http://www.w3.org/2000/svg"
PIXELS_PER_POINT = 2.0

_TOKENS = {colour: name for name, colour in LIGHT.items()}
_NOISE = ("aria-label", "aria-roledescription", "aria-hidden", "role", "class")
_INHERITED = (
    "class",
    "fill",
    "fill-opacity",
    "font-family",
    "font-size",
    "font-weight",
    "stroke",
    "stroke-dasharray",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-opacity",
    "stroke-width",
    "text-anchor",
)
"""Attributes that a group can carry for all marks in it."""

_NUMBER = re.compile(r"-?\d+\.\d{3,}(?:e-?\d+)?")


def complete(spec: Mapping[str, object]) -> dict[str, object]:
    """Add grammar version and house style to a chart, so that it can stand alone."""
    return {"$schema": VEGA_LITE, "config": chart_config(), **spec}


def to_svg(
    spec: Mapping[str, object], *, identity: str, title: str, description: str, standalone: bool = False
) -> str:
    """Draw a chart as SVG.

    Parameters
    ----------
    spec : mapping
        Vega-Lite, without grammar version and configuration.
    identity : str
        Prefix of every identifier in the drawing; unique on the page.
    title, description : str
        Told to who cannot see the picture.
    standalone : bool, optional
        Write the name space that a file of its own needs.

    Returns
    -------
    str
        Same chart, same text.
    """
    import vl_convert

    register_typeface()
    raw: str = vl_convert.vegalite_to_svg(
        json.dumps(complete(spec)), vl_version=VEGA_LITE_VERSION, allowed_base_urls=[]
    )
    root = ElementTree.fromstring(raw)
    _clean(root, identity)
    _describe(root, identity, title=title, description=description)
    if standalone:
        root.set("xmlns", "http://www.w3.org/2000/svg")
    return ElementTree.tostring(root, encoding="unicode", short_empty_elements=True)


def to_png(
    spec: Mapping[str, object], *, scale: float = PIXELS_PER_POINT, font_directory: str | None = None
) -> bytes:
    """Draw a chart as PNG on paper colour.

    Parameters
    ----------
    spec : mapping
        Vega-Lite, without grammar version and configuration.
    scale : float, optional
        Pixels of the picture per unit of the chart.
    font_directory : str, optional
        Directory that holds the files of `cut_weights`; without it all text is regular or bold.
    """
    import vl_convert

    register_typeface()
    if font_directory is not None:
        vl_convert.register_font_directory(font_directory)
    whole = complete(spec)
    whole["config"] = {**chart_config(), "background": LIGHT["paper"], "padding": 28}
    png: bytes = vl_convert.vegalite_to_png(
        json.dumps(whole), vl_version=VEGA_LITE_VERSION, scale=scale, allowed_base_urls=[]
    )
    return png


def _clean(root: ElementTree.Element, identity: str) -> None:
    names: dict[str, str] = {}
    for element in root.iter():
        element.tag = element.tag.removeprefix(f"{{{SVG}}}")
        for attribute in _NOISE:
            element.attrib.pop(attribute, None)
        for attribute in ("d", "transform"):
            if attribute in element.attrib:
                element.set(attribute, _NUMBER.sub(_shorter, element.attrib[attribute]))
        if "id" in element.attrib:
            names[element.attrib["id"]] = f"{identity}-{len(names) + 1}"
            element.set("id", names[element.attrib["id"]])
        if element.get("opacity") == "1":
            del element.attrib["opacity"]
        _take_tokens(element)
    _rename(root, names)
    _drop_empty(root)


def _shorter(number: re.Match[str]) -> str:
    """Keep hundredths of a pixel."""
    return f"{float(number.group()):.2f}".rstrip("0").rstrip(".")


def _take_tokens(element: ElementTree.Element) -> None:
    """Name the token of each colour; the colour stays for a drawing that stands alone."""
    classes = [
        f"{kind}-{_TOKENS[element.attrib[kind]]}"
        for kind in ("fill", "stroke")
        if element.get(kind) in _TOKENS
    ]
    if classes:
        element.set("class", " ".join(classes))


def _rename(root: ElementTree.Element, names: Mapping[str, str]) -> None:
    for element in root.iter():
        for attribute, text in element.attrib.items():
            for old, new in names.items():
                if text == f"url(#{old})":
                    element.set(attribute, f"url(#{new})")


def _drop_empty(parent: ElementTree.Element) -> None:
    """Remove what draws nothing, let groups carry what their marks share, and unwrap idle groups."""
    for child in list(parent):
        _drop_empty(child)
        _hoist(child)
        if _draws_nothing(child, parent):
            parent.remove(child)
        elif child.tag == "g" and child.attrib in ({}, {"transform": "translate(0,0)"}):
            place = list(parent).index(child)
            parent.remove(child)
            for offset, grandchild in enumerate(list(child)):
                parent.insert(place + offset, grandchild)


def _draws_nothing(child: ElementTree.Element, parent: ElementTree.Element) -> bool:
    if child.tag == "g":
        return len(child) == 0
    if child.tag != "path":
        return False
    unpainted = child.get("fill") is None and child.get("stroke") is None
    inherits_paint = parent.tag == "g" and parent.get("fill") not in (None, "none")
    return not child.get("d") or child.get("display") == "none" or (unpainted and not inherits_paint)


def _hoist(group: ElementTree.Element) -> None:
    """Write once, on the group, what all its marks have in common."""
    marks = list(group)
    if group.tag != "g" or len(marks) < 2 or any(mark.tag == "g" for mark in marks):
        return
    for attribute in _INHERITED:
        values = {mark.get(attribute) for mark in marks}
        value = values.pop()
        if not values and value is not None and attribute not in group.attrib:
            group.set(attribute, value)
            for mark in marks:
                del mark.attrib[attribute]


def _describe(root: ElementTree.Element, identity: str, *, title: str, description: str) -> None:
    root.attrib.pop("version", None)
    root.set("role", "img")
    root.set("aria-labelledby", f"{identity}-title {identity}-description")
    for place, (tag, text) in enumerate((("title", title), ("desc", description))):
        element = ElementTree.Element(
            tag, {"id": f"{identity}-{'title' if tag == 'title' else 'description'}"}
        )
        element.text = text
        root.insert(place, element)
