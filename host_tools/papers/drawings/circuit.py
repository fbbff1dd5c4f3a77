"""One function's circuit: battery, fuses, switch, load and diode in one loop.

The + wire runs along the top from the battery through whatever stands in it, the load hangs at the
right, 0 V runs back along the bottom. A wireman follows it with a finger. Symbols are IEC 60617's
(from memory), but for the fuse drawn by schemdraw's.
"""

from __future__ import annotations

import enum
from dataclasses import dataclass

from host_tools.papers.drawings.canvas import LINE_PITCH, Canvas
from host_tools.papers.letters import BOLD, MM_PER_PT, widest_word_mm, wrapped

NARROW_MM, WIDE_MM = 86.0, 180.0
HEIGHT_MM = 36.0
"""Between the + wire and 0 V."""

BATTERY_X, FIRST_X, BATTERY_ROOM_MM = 9.0, 11.0, 30.0
TEXT_PT, SMALL_PT = 6.5, 5.5
MINUS = "\u2212"
LINE_MM = TEXT_PT * MM_PER_PT * LINE_PITCH
LOAD_FROM_RIGHT_MM = 27.0
BEFORE_LOAD_MM = 5.0
MOST_NARROW = 4
"""More stations than this in the + wire need the wide drawing."""


class In(enum.Enum):
    """What stands in the + wire."""

    FUSE = enum.auto()
    REGULATOR = enum.auto()
    STRIP = enum.auto()
    RELAY = enum.auto()
    PLUG = enum.auto()
    HAND = enum.auto()


@dataclass(frozen=True)
class Station:
    """One thing in the + wire: what stands above it and below it, and the wire that leads to it."""

    kind: In
    above: str
    below: str = ""
    wire: str = ""


class At(enum.Enum):
    """What hangs between + and 0 V."""

    LAMP = "Lamp2"
    LED = "LED"
    MOTOR = "Motor"
    COIL = "Inductor2"
    PLAIN = "ResistorIEC"


@dataclass(frozen=True)
class Hanging:
    """The load: `diode` across it, `sink` what switches its 0 V side (its pin, its name; none if
    the contact stands in the + wire), `wire` and `back` the wires to and from it."""

    kind: At
    text: str
    diode: bool = False
    sink: tuple[str, str] | None = None
    wire: str = ""
    back: str = ""


@dataclass(frozen=True)
class Drive:
    """What moves a relay's contact: its pin and the level."""

    pin: str
    level: str


@dataclass(frozen=True)
class Both:
    """A motor between two changeover contacts, or behind a motor driver with two inputs. `ways`
    are the two outputs with their pins, a line each."""

    text: str
    ways: tuple[str, str]
    relays: bool
    wires: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class Signal:
    """Something that has its own electronics, told by a pin: a servo, a controller."""

    name: str
    pin: str


@dataclass(frozen=True)
class Loop:
    """One circuit."""

    title: str
    battery: str
    stations: tuple[Station, ...]
    end: Hanging | Both | Signal
    drive: Drive | None = None


def is_wide(loop: Loop) -> bool:
    """Whether a circuit needs the whole width of a page: of many parts, or for a long word."""
    if len(loop.stations) + 2 * isinstance(loop.end, Both) > MOST_NARROW:
        return True
    room = _room(loop, NARROW_MM) - 1
    return any(widest_word_mm(one.above, TEXT_PT * BOLD) > room for one in loop.stations)


def _beside(loop: Loop) -> float:
    """How far from the right edge the load hangs."""
    if isinstance(loop.end, Both):
        return 56.0
    plain = isinstance(loop.end, Hanging) and not loop.end.diode
    return LOAD_FROM_RIGHT_MM - 8.0 if plain else LOAD_FROM_RIGHT_MM


def _room(loop: Loop, width_mm: float) -> float:
    """The part of the + wire that each station has for itself."""
    reach = width_mm - _beside(loop) - BEFORE_LOAD_MM - FIRST_X
    return reach / max(len(loop.stations), 1)


def circuit(loop: Loop) -> str:
    """The drawing."""
    return _Drawing(loop).svg()


class _Drawing:
    def __init__(self, loop: Loop) -> None:
        self.loop = loop
        self.width = WIDE_MM if is_wide(loop) else NARROW_MM
        self.beside = _beside(loop)
        self.end_x = self.width - self.beside
        self.room = _room(loop, self.width)
        self.legend = self._legend()
        lines = sum(len(wrapped(one, TEXT_PT, self.width - 4)) for one in self.legend)
        above = [len(wrapped(one.above, TEXT_PT * BOLD, self.room - 1)) for one in loop.stations]
        self.top = 5.4 + max([1, *above]) * LINE_MM
        self.low = self.top + HEIGHT_MM
        self.canvas = Canvas(self.width, self.low + 3 + lines * LINE_MM, loop.title)

    def svg(self) -> str:
        self._battery()
        self._stations()
        match self.loop.end:
            case Hanging():
                self._hanging(self.loop.end)
            case Both():
                self._both(self.loop.end)
            case Signal():
                self._signal(self.loop.end)
        y = self.low + 1.4 + LINE_MM
        for line in self.legend:
            y += self.canvas.text((2, y), line, size_pt=TEXT_PT, room_mm=self.width - 4)
        return self.canvas.svg()

    def _legend(self) -> list[str]:
        end = self.loop.end
        return [f"a  {end.ways[0]}", f"b  {end.ways[1]}"] if isinstance(end, Both) else []

    def _battery(self) -> None:
        canvas, x, middle = self.canvas, BATTERY_X, (self.top + self.low) / 2
        canvas.symbol("Battery", (x, self.top), (x, self.low))
        for y, word in ((middle - 2.4, "+"), (middle + 5, MINUS)):
            canvas.text((x - 3.4, y), word, size_pt=TEXT_PT, anchor="end", bold=True)
        # Below whatever hangs under the first parts of the + wire.
        first = self.top + 24.2
        canvas.text((x + 4.5, first), self.loop.battery, size_pt=TEXT_PT, room_mm=BATTERY_ROOM_MM)
        canvas.text((x - 2, self.low - 0.4), "0 V", size_pt=TEXT_PT, anchor="end")

    def _stations(self) -> None:
        stations, left, room = self.loop.stations, FIRST_X, self.room
        self.canvas.line((BATTERY_X, self.top), (left, self.top))
        for number, station in enumerate(stations):
            x = left + number * room
            self._station(station, x, room)
        reached = left + len(stations) * room
        self.canvas.line((reached, self.top), (self.end_x, self.top))

    def _station(self, station: Station, x: float, room: float) -> None:
        canvas, middle = self.canvas, x + room / 2
        start, end = (x, self.top), (x + room, self.top)
        under = self.top + 4.4
        match station.kind:
            case In.FUSE:
                canvas.symbol("FuseIEEE", start, end)
            case In.RELAY | In.HAND:
                canvas.symbol("Switch", start, end, contacts=False)
                if station.kind is In.RELAY:
                    under = self._drive(middle)
            case In.REGULATOR:
                self._box(start, end, middle)
                canvas.line((middle, self.top + 3), (middle, self.low), stroke="thin")
                canvas.dot((middle, self.low))
                canvas.text((middle, self.top + 1), "=/=", size_pt=TEXT_PT, anchor="middle")
            case In.STRIP:
                canvas.line(start, end)
                canvas.dot((middle, self.top), 0.9)
            case In.PLUG:
                canvas.line(start, (middle - 1, self.top))
                canvas.line((middle + 1, self.top), end)
                for step in (-1.0, 0.6):
                    tip = middle + step + 1
                    back, y = tip - 1.4, self.top
                    canvas.line((back, y - 1.4), (tip, y), (back, y + 1.4))
        canvas.text(
            (middle, self.top - 4.2), station.above, size_pt=TEXT_PT, anchor="middle",
            room_mm=room - 1, bold=True, up=True,
        )  # fmt: skip
        if station.below:
            beside = station.kind is In.REGULATOR
            canvas.text(
                (middle + (1 if beside else 0), under + LINE_MM), station.below, size_pt=SMALL_PT,
                anchor="start" if beside else "middle", room_mm=room - 1,
            )  # fmt: skip
        if station.wire:
            canvas.text((x, self.top + 4.2), station.wire, size_pt=SMALL_PT, anchor="middle")

    def _box(self, start: tuple[float, float], end: tuple[float, float], middle: float) -> None:
        self.canvas.line(start, (middle - 4, self.top))
        self.canvas.line((middle + 4, self.top), end)
        self.canvas.box((middle - 4, self.top - 3), (8, 6))

    def _drive(self, middle: float) -> float:
        """The coil below a contact and the pin that drives it; returns where text goes on."""
        drive = self.loop.drive
        if drive is None:
            return self.top + 4.4
        canvas, coil = self.canvas, self.top + 8
        canvas.line((middle, self.top - 1), (middle, coil), stroke="thin", dashes="0.9 0.7")
        canvas.box((middle - 3.5, coil), (7, 4))
        canvas.line((middle - 3.5, coil + 4), (middle + 3.5, coil), stroke="thin")
        text = f"{drive.pin}\n{drive.level}"
        canvas.text((middle, coil + 4 + LINE_MM), text, size_pt=SMALL_PT, anchor="middle")
        return coil + 8

    def _hanging(self, end: Hanging) -> None:
        canvas, x = self.canvas, self.end_x
        low = self.low if end.sink is None else self.low - 16.0
        canvas.symbol(end.kind.value, (x, self.top), (x, low))
        if end.kind is At.MOTOR:
            canvas.text((x, (self.top + low) / 2 + 1.1), "M", size_pt=8, anchor="middle", bold=True)
        canvas.text(
            (x + (10.5 if end.diode else 5), (self.top + low) / 2 - LINE_MM), end.text,
            size_pt=TEXT_PT, room_mm=self.beside - (11.5 if end.diode else 6),
        )  # fmt: skip
        if end.diode:
            self._diode(x + 8, self.top + 3, low - 3)
        if end.sink is not None:
            self._sink(end.sink, low)
        canvas.line((BATTERY_X, self.low), (x, self.low))
        side, beside = ("end", x - 1) if end.diode else ("start", x + 1)
        if end.wire:
            canvas.text((beside, self.top + 4.2), end.wire, size_pt=SMALL_PT, anchor=side)
        if end.back:
            place = (x - 1, low - 1)
            canvas.text(place, end.back, size_pt=SMALL_PT, anchor="end", room_mm=22, up=True)

    def _diode(self, x: float, top: float, low: float) -> None:
        """Across the load, its cathode at +: it carries the current on when the switch opens."""
        canvas = self.canvas
        canvas.line((self.end_x, top), (x, top))
        canvas.line((self.end_x, low), (x, low))
        canvas.symbol("Diode", (x, low), (x, top))
        for y in (top, low):
            canvas.dot((self.end_x, y))

    def _sink(self, sink: tuple[str, str], top: float) -> None:
        canvas, x = self.canvas, self.end_x
        pin, name = sink
        canvas.symbol("NMos2", (x, top), (x, self.low))
        canvas.line((x - 4, top + 9.6), (x - 10, top + 9.6))
        canvas.text((x - 11, top + 10.4), pin, size_pt=SMALL_PT, anchor="end")
        room = self.beside - 4
        canvas.text((x + 3, top + 9), name, size_pt=TEXT_PT, room_mm=room, bold=True)

    def _both(self, end: Both) -> None:
        """A motor that turns both ways: its two relays stand left and right of it."""
        canvas, left, middle = self.canvas, self.end_x, (self.top + self.low) / 2
        a, b = left + 10, left + 44
        if end.relays:
            canvas.line((left, self.top), (b, self.top))
            canvas.line((BATTERY_X, self.low), (b, self.low))
            for x, inward, letter in ((a, 1, "a"), (b, -1, "b")):
                self._changeover(x, inward, letter, middle)
            start, stop, text = (a + 4, middle), (b - 4, middle), ((a + b) / 2, middle + 6.5)
            places = ((a + 7, middle - 1), (b - 7, middle - 1))
        else:
            self._driver_of(a, middle)
            start, stop, text = (b, middle - 7), (b, middle + 7), (b + 5, middle - LINE_MM)
            for y in (middle - 7, middle + 7):
                canvas.line((a + 14, y), (b, y))
            places = ((a + 24, middle - 8), (a + 24, middle + 6))
        canvas.symbol("Motor", start, stop)
        centre = ((start[0] + stop[0]) / 2, middle + 1.1)
        canvas.text(centre, "M", size_pt=8, anchor="middle", bold=True)
        anchor = "middle" if end.relays else "start"
        room = 24.0 if end.relays else self.width - text[0] - 1
        canvas.text(text, end.text, size_pt=TEXT_PT, anchor=anchor, room_mm=room)
        for wire, place in zip(end.wires, places, strict=True):
            if wire:
                canvas.text(place, wire, size_pt=SMALL_PT, anchor="middle")

    def _changeover(self, x: float, inward: int, letter: str, middle: float) -> None:
        """A relay's contact at rest: its arm lies on NC, which is at 0 V."""
        canvas, opened, closed = self.canvas, self.top + 5, self.low - 5
        canvas.line((x, self.top), (x, opened))
        canvas.line((x, self.low), (x, closed))
        canvas.line((x + inward * 4, middle), (x - inward * 0.4, closed))
        outside, inside = ("end", "start") if inward > 0 else ("start", "end")
        for y, word in ((opened + 1, "NO"), (closed + 1, "NC")):
            canvas.text((x - inward * 1.5, y), word, size_pt=SMALL_PT, anchor=outside)
        canvas.text((x + inward * 4.6, middle + 3), "COM", size_pt=SMALL_PT, anchor=inside)
        place = (x - inward * 2.2, middle + 1)
        canvas.text(place, letter, size_pt=8, anchor=outside, bold=True)

    def _driver_of(self, x: float, middle: float) -> None:
        """A motor driver with an input for each way."""
        canvas = self.canvas
        canvas.box((x - 8, middle - 10), (22, 20))
        canvas.text((x - 6.5, middle - 3), "motor\ndriver", size_pt=TEXT_PT, bold=True)
        canvas.line((self.end_x, self.top), (x, self.top), (x, middle - 10))
        canvas.line((BATTERY_X, self.low), (x, self.low), (x, middle + 10))
        for y, letter in ((middle - 7, "a"), (middle + 7, "b")):
            canvas.line((x - 13, y), (x - 8, y))
            canvas.text((x - 14, y + 1), letter, size_pt=8, anchor="end", bold=True)

    def _signal(self, end: Signal) -> None:
        canvas, x = self.canvas, self.end_x
        top, low = self.top + 8, self.low - 8
        canvas.box((x - 14, top), (28, low - top))
        canvas.line((x, self.top), (x, top))
        canvas.line((BATTERY_X, self.low), (x, self.low), (x, low))
        canvas.text((x - 12, top + 4), end.name, size_pt=TEXT_PT, room_mm=24, bold=True)
        for y, word in ((top - 1.4, "+"), (low + 3.2, MINUS)):
            canvas.text((x + 1.4, y), word, size_pt=TEXT_PT, bold=True)
        middle = (top + low) / 2 + 2
        canvas.line((x - 24, middle), (x - 14, middle))
        canvas.text((x - 25, middle + 0.8), end.pin, size_pt=TEXT_PT, anchor="end")
        canvas.text((x - 15, middle - 1), "signal", size_pt=SMALL_PT, anchor="end")
