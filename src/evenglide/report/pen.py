"""The few strokes that all charts are made of, as Vega-Lite layers.

Depth, from the top down, is always given in pixels; along the lane an effect or a distance is given
in its own unit with a `Ruler` that says where on the picture it falls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenglide.report.look import LIGHT

Spec = dict[str, object]
FIRST_SQUARE = 0x2E80
"""From here on Unicode holds mostly East Asian scripts, set in squares."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruler:
    """A range of numbers and the pixels it is drawn over."""

    low: float
    high: float
    left: float
    right: float

    @property
    def scale(self) -> Spec:
        """Vega-Lite scale from numbers to pixels."""
        return {
            "domain": [self.low, self.high],
            "range": [self.left, self.right],
            "nice": False,
            "zero": False,
        }

    @property
    def unit_per_pixel(self) -> float:
        """Width of a pixel in the ruler's unit."""
        return (self.high - self.low) / (self.right - self.left)

    def share(self, number: float) -> float:
        """Place of a number along the ruler, from 0 to 1."""
        return (number - self.low) / (self.high - self.low)

    def along(self, field: str, *, to: str | None = None) -> Spec:
        """Encode a field, or the stretch between two fields, along the ruler."""
        encoding: Spec = {"x": {"field": field, "type": "quantitative", "scale": self.scale, "axis": None}}
        return encoding if to is None else encoding | {"x2": {"field": to}}


def rule(low: float, high: float, ruler: Ruler, *, depth: float, **mark: object) -> Spec:
    """Draw a level line from one number to another."""
    return rules([(low, high, depth)], ruler, **mark)


def rules(stretches: Sequence[tuple[float, float, float]], ruler: Ruler, **mark: object) -> Spec:
    """Draw level lines, each from one number to another at its depth."""
    return _layer(
        [{"low": low, "high": high, "y": depth} for low, high, depth in stretches],
        {"type": "rule", "color": LIGHT["line"], **mark},
        ruler.along("low", to="high") | {"y": _depth("y")},
    )


def strip(low: float, high: float, ruler: Ruler, *, top: float, foot: float) -> Spec:
    """Fill the stretch between two numbers in the colour of what does not matter."""
    return _layer(
        [{"low": low, "high": high}],
        {"type": "rect", "color": LIGHT["band"]},
        ruler.along("low", to="high") | {"y": {"value": top}, "y2": {"value": foot}},
    )


def uprights(numbers: Sequence[float], ruler: Ruler, *, top: float, foot: float, **mark: object) -> Spec:
    """Draw upright lines at some numbers, all from one depth to another."""
    return ends([(number, top, foot) for number in numbers], ruler, **mark)


def ends(places: Sequence[tuple[float, float, float]], ruler: Ruler, **mark: object) -> Spec:
    """Draw upright lines, each at a number from its top to its foot."""
    return _layer(
        [{"at": number, "top": top, "foot": foot} for number, top, foot in places],
        {"type": "rule", "color": LIGHT["line"], **mark},
        ruler.along("at") | {"y": _depth("top"), "y2": {"field": "foot"}},
    )


def points(places: Sequence[tuple[float, float]], ruler: Ruler, **mark: object) -> Spec:
    """Draw a shape at each pair of a number and a depth."""
    return _layer(
        [{"at": number, "y": depth} for number, depth in places],
        {"type": "point", "opacity": 1, **mark},
        ruler.along("at") | {"y": _depth("y")},
    )


def sign(*, left: float, depth: float, **mark: object) -> Spec:
    """Draw one shape at a place on the sheet, off the ruler. [px]."""
    return _layer(
        [{"y": depth}],
        {"type": "point", "opacity": 1, **mark},
        {"x": {"value": left}, "y": _depth("y")},
    )


def numbers_at(places: Sequence[tuple[float, float, str]], ruler: Ruler, **mark: object) -> Spec:
    """Write a text at each pair of a number and a depth."""
    return _layer(
        [{"at": number, "y": depth, "text": text} for number, depth, text in places],
        {"type": "text", "color": LIGHT["soft"], "fontSize": 13, **mark},
        ruler.along("at") | {"y": _depth("y"), "text": {"field": "text"}},
    )


def shortened(text: str, *, room: float, size: float = 13) -> str:
    """Cut a text to the room it has [px], by how wide its characters usually are.

    The renderer could measure instead, at the price of half the time that a chart takes. Wide
    enough for every letter of a Latin text; East Asian characters count as square.
    """
    width = 0.0
    for place, character in enumerate(text):
        square = ord(character) >= FIRST_SQUARE
        width += size * (1.0 if square else 0.72 if character.isupper() else 0.57)
        if width > room:
            return f"{text[: max(place - 1, 1)].rstrip()}…"
    return text


def curve(places: Sequence[tuple[float, float]], ruler: Ruler, **mark: object) -> Spec:
    """Draw a line through pairs of a number and a depth."""
    return _layer(
        [{"at": number, "y": depth} for number, depth in places],
        {"type": "line", "color": LIGHT["ink"], "strokeWidth": 2, **mark},
        ruler.along("at") | {"y": _depth("y")},
    )


def ribbon(places: Sequence[tuple[float, float, float]], ruler: Ruler, **mark: object) -> Spec:
    """Fill what lies between two depths, each place a number with its upper and its lower depth."""
    return _layer(
        [{"at": number, "top": top, "foot": foot} for number, top, foot in places],
        {"type": "area", "color": LIGHT["line"], **mark},
        ruler.along("at") | {"y": _depth("top"), "y2": {"field": "foot"}},
    )


def words(lines: Sequence[tuple[str | list[str], float]], *, left: float, **mark: object) -> Spec:
    """Write texts at their depths, all beginning (or ending, or centred) at one place across."""
    return _layer(
        [{"text": text, "y": depth} for text, depth in lines],
        {"type": "text", "fontSize": 13, **mark},
        {"text": {"field": "text"}, "x": {"value": left}, "y": _depth("y")},
    )


def hairlines(depths: Sequence[float], *, left: float, right: float) -> Spec:
    """Draw level lines at some depths, from one place across to another. [px]."""
    return _layer(
        [{"y": depth} for depth in depths],
        {"type": "rule", "color": LIGHT["line"], "strokeWidth": 1},
        {"x": {"value": left}, "x2": {"value": right}, "y": _depth("y")},
    )


def picture(layers: Sequence[Spec], *, width: float, height: float) -> Spec:
    """Put layers on one sheet of exactly this size. [px]."""
    return {"width": width, "height": height, "autosize": "none", "layer": list(layers)}


def _depth(field: str) -> Spec:
    return {"field": field, "type": "quantitative", "scale": None, "axis": None}


def _layer(values: Sequence[Spec], mark: Spec, encoding: Spec) -> Spec:
    return {"data": {"values": list(values)}, "mark": mark, "encoding": encoding}
