"""What the electrical sums found out about a ship: the records that tables and papers are made of.

Everything that people read is made from these. A number that was computed is a Figure, which can
tell how it was come by.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from host_tools.electrical.figure import Figure, Given, Refused

if TYPE_CHECKING:
    from gen.diagnostics import Place


@dataclass(frozen=True)
class Branch:
    """A supply, or a load at the end of one. `plain` is the sum of all that hangs on it; `worst` is
    the most that the plan's gates, groups and pairs allow at once; `typical` the mean over a trial
    or a trace, None without one. `stalls` and `surge` are the worst with one motor held fast or one
    load just switched on, None where nothing says so. `taken` is what it takes at worst from its
    `parent`, the supply that feeds it ("" for a battery): of a regulator another current than the
    one that it gives. `fuse` is the number of the fuse at its beginning, "" without one; `wire` the
    size of its wires, which carry `bears` at most; `drop` is lost on all of them, there and back,
    `drop_share` the same as a part of the supply, None while a length is missing.
    """

    name: str
    parent: str
    of: Literal["battery", "strip", "regulator", "load"]
    voltage_v: float
    plain: Figure
    worst: Figure
    taken: Figure
    typical: Figure | None
    surge: Figure | None
    stalls: Figure | None
    fuse: str
    wire: str
    bears: Figure
    drop: Figure | None
    drop_share: Figure | None
    place: Place


@dataclass(frozen=True)
class Fuse:
    """A fuse: its `number` is that on paper ("F1"), `branch` the name of what it protects. `why` is
    the sum that chose it, `blows_on_stall` what a motor that is held fast does to it, "" without a
    motor; several that rely on it are told one after another, "; " between. `given`: whether the
    owner chose it.
    """

    number: str
    branch: str
    rating_a: float
    kind: str
    why: Figure
    blows_on_stall: str
    given: bool
    place: Place


@dataclass(frozen=True, order=True)
class Terminal:
    """One end of a wire: the part and its point. ("F1", "out"), ("relay 3", "NO"), ("deckhouse
    plug", "7"), ("nano", "D5"), ("deck lights", "+")."""

    part: str
    point: str

    @property
    def text(self) -> str:
        """As it stands on paper: "F1 out"."""
        return f"{self.part} {self.point}"


@dataclass(frozen=True)
class Wire:
    """One wire. `number` is that on paper ("W12"); `carries` are the branches whose current it
    carries; `drop` is the voltage lost along it at its current, None where its length is not
    known, as are `current` for a signal and `length_m`. `size_mm2` is 0 for a signal wire of any
    size, and `fuse` "" where none protects it."""

    number: str
    from_: Terminal
    to: Terminal
    size_mm2: float
    size_name: str
    colour: str
    length_m: float | None
    carries: tuple[str, ...]
    current: Figure | None
    drop: Figure | None
    fuse: str
    place: Place


@dataclass(frozen=True)
class Contact:
    """One contact of a connector: `carries` is "spare", "free", "return" or the name of a lead;
    `wire` the number of the wire in the cable, "" without one; `current` None where none flows."""

    number: int
    carries: str
    wire: str
    current: Figure | None


@dataclass(frozen=True)
class Connector:
    """A connector with every one of its contacts in order. `returns` are the contacts that lead the
    current back together, `spares` those that carry nothing; `rating_a` is what the maker says of
    one contact, `allowed_a` what is left of it with so many of them loaded."""

    name: str
    contacts: tuple[Contact, ...]
    returns: tuple[int, ...]
    spares: tuple[int, ...]
    rating_a: float
    allowed_a: Figure
    returned: Figure
    place: Place


@dataclass(frozen=True)
class Part:
    """One row of the shopping list."""

    what: str
    quantity: int
    spec: str
    for_: tuple[str, ...]


@dataclass(frozen=True)
class PinRow:
    """What one pin of the board, a port group or the whole chip carries. `of` is the pin's label,
    the group's ports or the chip's name; `way` "sinks" or "sources"."""

    of: str
    way: str
    carries: Figure
    most_a: float
    clause: str


@dataclass(frozen=True)
class DrumLayer:
    """A layer of line on a winch's drum: what a turn of it pays out, how fast the line runs, and
    how hard it pulls, None where the motor's torque is not known."""

    number: int
    travel: Figure
    speed: Figure
    pull: Figure | None


@dataclass(frozen=True)
class WinchWay:
    """One way of a winch: the limit that is written, and how many turns it lets the drum make."""

    name: str
    limit: Given
    turns: Figure


@dataclass(frozen=True)
class Winch:
    """What follows from a winch's drum. `run` is how long the whole travel takes with line that
    lies turn beside turn, `loose` with line that does not (None if not even a turn would then
    lie on the drum); `limit` the longest that may be written, and `ways` what is.
    `taken` is how much of the drum loosely wound line takes. `longest` and `rest` are its
    motor's duty, None where nothing is said of it."""

    name: str
    speed: Figure
    turns: Figure
    run: Figure
    loose: Figure | None
    limit: Figure
    ways: tuple[WinchWay, ...]
    holds: Figure
    taken: Figure
    layers: tuple[DrumLayer, ...]
    longest: Figure | None
    rest: Figure | None
    place: Place


@dataclass(frozen=True)
class Finding:
    """Something that is unsafe (`is_error`) or unwise, with its place in the ship file and the
    clause that says so. `code` is a key of CODES."""

    code: str
    is_error: bool
    what: str
    got: str
    expected: str
    place: Place
    clause: str


@dataclass(frozen=True)
class Endurance:
    """A battery. `at_worst` is how long it gives its worst current without a pause, `profile` how
    long it lasts when a run is repeated until it is empty, `used` what one such run takes; each a
    refusal where nobody can say, None without a run. `sag` is what is lost inside it at worst, None
    where its resistance is not known."""

    name: str
    full: Figure
    cut_off: Figure
    worst: Figure
    at_worst: Figure | Refused
    used: Figure | Refused | None
    profile: Figure | Refused | None
    sag: Figure | None
    temperature: Figure | Refused

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Those that are known."""
        every = (
            *(self.full, self.cut_off, self.at_worst, self.temperature),
            *(self.used, self.profile, self.sag),
        )
        return tuple(one for one in every if isinstance(one, Figure))


@dataclass(frozen=True)
class Electrics:
    """All of it. `run` is what typical currents and endurance come from ("trial 'lights', 12 s"),
    "" without one. `figures` are further sums that belong to no record (a LED's resistor, a
    regulator's heat); `missing` says, a sentence each, what the ship file would have
    to say for more to be summed."""

    branches: tuple[Branch, ...]
    fuses: tuple[Fuse, ...]
    wires: tuple[Wire, ...]
    connectors: tuple[Connector, ...]
    batteries: tuple[Endurance, ...]
    winches: tuple[Winch, ...]
    pins: tuple[PinRow, ...]
    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]
    figures: tuple[Figure, ...]
    missing: tuple[str, ...]
    run: str = ""

    def branch(self, name: str) -> Branch | None:
        """The branch of this name, None if there is none."""
        return next((one for one in self.branches if one.name == name), None)
