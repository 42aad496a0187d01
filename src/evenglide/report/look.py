"""Colours, type and sizes, once for pages, charts and prints.

A chart is drawn in the light colours; each of them is a token, and a page that turns dark swaps
tokens, never charts. Colour is never alone: side of the flag, fill, shape and words say the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

FONT = "IBM Plex Sans"
VEGA_LITE = "https://vega.github.io/schema/vega-lite/v6.json"
VEGA_LITE_VERSION = "6.4"
VEGA_LITE_MIME = "application/vnd.vegalite.v6+json"

SMALL, TEXT, LARGE, HEADING, TITLE = 13.5, 16, 18, 26, 34
"""Sizes of type in a report. [px]"""

LIGHT: Mapping[str, str] = {
    "paper": "#fbfaf6",
    "ink": "#17252d",
    "soft": "#566770",
    "line": "#d8dcd6",
    "band": "#efe6d2",
    "band-text": "#6d5a2c",
    "farther": "#0a6c8c",
    "shorter": "#8f3a63",
    "alike": "#4d5b63",
    "treatment-1": "#b3471c",
    "treatment-2": "#3b7a57",
    "treatment-3": "#6a4c93",
    "treatment-4": "#7a6414",
}
"""Tokens on light paper."""

DARK: Mapping[str, str] = {
    "paper": "#12191d",
    "ink": "#eef0ea",
    "soft": "#9fb0b8",
    "line": "#2d393f",
    "band": "#3a3322",
    "band-text": "#d3c08d",
    "farther": "#58b6d3",
    "shorter": "#d98bb0",
    "alike": "#a9b6bc",
    "treatment-1": "#e88a5e",
    "treatment-2": "#79bf98",
    "treatment-3": "#b59ad9",
    "treatment-4": "#c9b45c",
}
"""The same tokens on dark paper."""

CIRCLE = "circle"
SHAPES = ("triangle-up", "triangle-down", "cross", "square")
"""Shapes of single launches, by treatment after the reference, which has the open circle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentMark:
    """How the launches of one treatment are drawn."""

    token: str
    shape: str
    filled: bool

    @property
    def colour(self) -> str:
        """Colour on light paper."""
        return LIGHT[self.token]


def treatment_mark(code: int) -> TreatmentMark:
    """Choose colour and shape by the place of a treatment; the reference, 0, is an open ink circle."""
    if code == 0:
        return TreatmentMark(token="ink", shape=CIRCLE, filled=False)
    step = (code - 1) % len(SHAPES)
    return TreatmentMark(token=f"treatment-{step + 1}", shape=SHAPES[step], filled=True)


def chart_config() -> dict[str, object]:
    """Vega-Lite configuration shared by all charts: our type, hairlines, no frame."""
    label = {
        "labelColor": LIGHT["soft"],
        "titleColor": LIGHT["soft"],
        "labelFontSize": 13,
        "titleFontSize": 13,
    }
    return {
        "font": FONT,
        "aria": False,
        "background": None,
        "padding": 0,
        "view": {"stroke": None},
        "axis": {
            **label,
            "domainColor": LIGHT["line"],
            "gridColor": LIGHT["line"],
            "tickColor": LIGHT["line"],
            "titleFontWeight": 400,
        },
        "text": {"color": LIGHT["ink"], "fontSize": 14, "align": "left", "baseline": "middle"},
        "title": {
            "color": LIGHT["ink"],
            "fontSize": 20,
            "fontWeight": 600,
            "anchor": "start",
            "offset": 18,
            "lineHeight": 26,
        },
    }


def tokens_css() -> str:
    """Write both sets of tokens as custom properties, and the classes by which charts take them."""
    chart_classes = "".join(
        f".fill-{name}{{fill:var(--{name})}}.stroke-{name}{{stroke:var(--{name})}}" for name in LIGHT
    )
    dark = f"@media screen and (prefers-color-scheme:dark){{:root{{{_properties(DARK)}}}}}"
    return f":root{{{_properties(LIGHT)}}}{dark}{chart_classes}"


def _properties(tokens: Mapping[str, str]) -> str:
    return "".join(f"--{name}:{colour};" for name, colour in tokens.items())
