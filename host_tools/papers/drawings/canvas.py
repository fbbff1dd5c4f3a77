"""A drawing in millimetres: lines and texts of our own, circuit symbols from schemdraw.

All coordinates are millimetres from the upper left corner, y downward. What comes out is one SVG
element without style sheet, script or id, every number rounded to 0.01: the same drawing is the
same bytes on every computer, and may stand inside a page beside others.
"""

from __future__ import annotations

import re
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

from host_tools.papers.letters import BOLD, MM_PER_PT, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Point = tuple[float, float]

FONT = "Liberation Sans, Arial, Helvetica, DejaVu Sans, sans-serif"
LINE_PITCH = 1.18
"""From one line of text to the next, in letter heights."""

STROKES = {"thin": 0.18, "line": 0.3, "thick": 0.6}
"""Line widths in mm: each about twice the one before, as ISO 128 has them (from memory)."""

SYMBOL_UNIT_MM = 7.0
"""What schemdraw's unit, the length of a resistor's body, becomes on paper."""

_POINTS_PER_UNIT = SYMBOL_UNIT_MM / MM_PER_PT
_NUMBER = re.compile(r"-?\d+\.?\d*(?:e-?\d+)?")
_SVG = "http://www.w3.org/2000/svg"


class Canvas:
    """One drawing of a fixed size."""

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        size = {"width": f"{_mm(width_mm)}mm", "height": f"{_mm(height_mm)}mm"}
        box = f"0 0 {_mm(width_mm)} {_mm(height_mm)}"
        self._root = ET.Element("svg", {"xmlns": _SVG, **size, "viewBox": box, "role": "img"})
        ET.SubElement(self._root, "title").text = title
        self._lines = ET.SubElement(
            self._root, "g", {"fill": "none", "stroke": "#000", "stroke-linecap": "round"}
        )
        self._texts = ET.SubElement(self._root, "g", {"fill": "#000", "font-family": FONT})
        self._symbols: list[tuple[str, dict[str, Any], Point, Point]] = []

    def line(self, *points: Point, stroke: str = "line", dashes: str = "") -> None:
        """A line through points."""
        path = " ".join(f"{_mm(x)},{_mm(y)}" for x, y in points)
        self._draw("polyline", {"points": path}, stroke, dashes)

    def box(
        self, corner: Point, size: Point, *, stroke: str = "line", fill: str = "", dashes: str = ""
    ) -> None:
        """A rectangle."""
        names = ("x", "y", "width", "height")
        given = dict(zip(names, map(_mm, (*corner, *size)), strict=True))
        self._draw("rect", given | ({"fill": fill} if fill else {}), stroke, dashes)

    def circle(self, centre: Point, radius: float, *, stroke: str = "line", fill: str = "") -> None:
        """A circle."""
        given = dict(zip(("cx", "cy", "r"), map(_mm, (*centre, radius)), strict=True))
        self._draw("circle", given | ({"fill": fill} if fill else {}), stroke)

    def dot(self, centre: Point, radius: float = 0.6) -> None:
        """Where lines are joined."""
        self.circle(centre, radius, fill="#000", stroke="thin")

    def symbol(self, name: str, start: Point, end: Point, **options: Any) -> None:
        """A schemdraw element of two ends, by its class's name."""
        self._symbols.append((name, options, start, end))

    def text(
        self,
        at: Point,
        text: str,
        *,
        size_pt: float = 7.5,
        anchor: str = "start",
        room_mm: float = 0,
        bold: bool = False,
        up: bool = False,
    ) -> float:
        """Text with its first base line at a point or, `up`, its last one there. With `room_mm` it
        is wrapped to that width. Returns the height of its lines in mm."""
        measured_pt = size_pt * BOLD if bold else size_pt
        lines = wrapped(text, measured_pt, room_mm) if room_mm else text.split("\n")
        pitch = size_pt * MM_PER_PT * LINE_PITCH
        x, y = at
        if up:
            y -= pitch * (len(lines) - 1)
        given = {"x": _mm(x), "y": _mm(y), "font-size": _mm(size_pt * MM_PER_PT)}
        if anchor != "start":
            given["text-anchor"] = anchor
        if bold:
            given["font-weight"] = "bold"
        made = ET.SubElement(self._texts, "text", given)
        if len(lines) == 1:
            made.text = lines[0]
        for number, line in enumerate(lines if len(lines) > 1 else ()):
            span = ET.SubElement(made, "tspan", {"x": _mm(x), "y": _mm(y + number * pitch)})
            span.text = line
        return pitch * len(lines)

    def svg(self) -> str:
        """The drawing as one SVG element."""
        if self._symbols:
            self._root.insert(2, _drawn(self._symbols))
            self._symbols = []
        return ET.tostring(self._root, encoding="unicode")

    def _draw(self, shape: str, given: dict[str, str], stroke: str, dashes: str = "") -> None:
        given["stroke-width"] = _mm(STROKES[stroke])
        if dashes:
            given["stroke-dasharray"] = dashes
        ET.SubElement(self._lines, shape, given)


def _mm(number: float) -> str:
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _rounded(text: str) -> str:
    return _NUMBER.sub(lambda match: _mm(float(match[0])), text)


@contextmanager
def _without_matplotlib() -> Iterator[None]:
    """Schemdraw imports matplotlib where it is installed and does without where it is not. We draw
    by its own SVG writer, and loading the other takes longer than all drawings of a ship."""
    modules: dict[str, Any] = sys.modules
    if "matplotlib" in modules:
        yield
        return
    modules["matplotlib"] = None
    try:
        yield
    finally:
        del modules["matplotlib"]


def _drawn(symbols: Sequence[tuple[str, dict[str, Any], Point, Point]]) -> ET.Element:
    """The symbols as lines in one group, scaled from schemdraw's points to millimetres."""
    with _without_matplotlib():
        import schemdraw  # noqa: PLC0415 - only where something is drawn
        from schemdraw import elements  # noqa: PLC0415

    drawing = schemdraw.Drawing(canvas="svg", show=False)
    drawing.config(inches_per_unit=SYMBOL_UNIT_MM / 25.4, margin=0)
    for name, options, start, end in symbols:
        places = [(x / SYMBOL_UNIT_MM, -y / SYMBOL_UNIT_MM) for x, y in (start, end)]
        drawing.add(getattr(elements, name)(**options).endpoints(*places))
    scale = f"scale({MM_PER_PT:.6f})"
    width = f"{STROKES['line'] / MM_PER_PT:.2f}"
    group = ET.Element(
        "g",
        {"fill": "none", "stroke": "#000", "stroke-width": width, "transform": scale},
    )
    for shape in ET.fromstring(drawing.get_imagedata("svg")):  # noqa: S314 - schemdraw's own text
        given = {
            name: _rounded(value)
            for name, value in shape.attrib.items()
            if name in ("d", "points", "cx", "cy", "r", "x", "y", "width", "height")
        }
        fill = re.search(r"fill:(\w+)", shape.get("style", ""))
        if fill is not None and fill[1] != "none":
            given["fill"] = fill[1]
        ET.SubElement(group, shape.tag.rpartition("}")[2], given)
    return group
