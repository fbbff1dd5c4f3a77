"""What the owner writes of loads, supplies, wires and connectors: nothing of it is in the plan.

The sums in host_tools/electrical are made from these records. Every key may be left out; what is
not said is not summed, and `pinrail power` tells what it missed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.nodes import ListNode, MapNode, Node, TextNode
from gen.read.keys import (
    JsonSchema,
    Kind,
    Located,
    Named,
    Nested,
    Record,
    complain_about_kind,
    key,
    located,
)
from gen.read.kinds import (
    ANY_CHARGE,
    ANY_CURRENT,
    ANY_HOURS,
    ANY_LENGTH,
    ANY_RESISTANCE,
    ANY_ROTATION,
    ANY_TORQUE,
    ANY_VOLTAGE,
    EFFICIENCY,
    SMALL_LENGTH,
    Divider,
    FuseSize,
    Number,
    OrAuto,
    Plain,
    Temperature,
    Text,
    Whole,
    Wire,
    WireSize,
    Words,
    YesNo,
)
from gen.read.sections import Listed, OneOrMore, Section

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.diagnostics import Problems

SPARE = "spare"
"""What a free contact of a connector carries."""

SUPPLY_NAME = Plain("the name of a supply")
FUSE = FuseSize()
WIRE = Wire()
COLOUR = Text("a colour such as red", 30)
MOST_CONTACTS = 200


@dataclass(frozen=True, kw_only=True)
class LedsItem(Record):
    """LEDs on a resistor: their current and the resistor follow from these."""

    in_a_row: Located[int] = key(
        Whole(1, 100), "how many in each string, one behind the other", default="1"
    )
    each: Located[Decimal] = key(
        ANY_VOLTAGE, "the forward voltage of one, from its datasheet", required=True
    )
    current: Located[Decimal] = key(ANY_CURRENT, "the current of a string", required=True)
    strings: Located[int] = key(
        Whole(1, 100), "how many strings side by side, each with its resistor", default="1"
    )


@dataclass(frozen=True, kw_only=True)
class LoadItem(Record):
    """What a function switches, for the electrical sums."""

    supply: Located[str] = key(SUPPLY_NAME, "the supply that feeds it", required=True)
    draws: Located[Decimal] | None = key(
        ANY_CURRENT, "its current while it runs; of LEDs it follows from `leds`"
    )
    stalls: Located[Decimal] | None = key(ANY_CURRENT, "a motor's current when it is held fast")
    surge: Located[Decimal] | None = key(
        ANY_CURRENT, "its current for the moment in which it is switched on, such as a cold lamp's"
    )
    kind: Located[str] | None = key(
        Words("lamp", "LED", "motor", "solenoid", "heater", "electronics"), "what it is"
    )
    leds: LedsItem | None = key(Nested(LedsItem, "the keys of LEDs"), "how its LEDs are connected")
    switched_by: Located[str] | None = key(
        Plain("the name of an output"),
        "the output that switches it, of a function that drives several: any of them unless given",
    )
    hand_switch: Located[bool] = key(
        YesNo(), "whether it has a switch of its own beside it, which may leave it dark",
        default="no",
    )  # fmt: skip
    fuse: Located[Decimal | str] = key(
        FUSE,
        "the fuse in front of its switch; loads of one function that say auto share it",
        default="auto",
    )
    wire: Located[WireSize | None] = key(
        OrAuto(WIRE), "the size of its wires: auto proposes one of those that you have",
        default="auto",
    )  # fmt: skip
    length: Located[Decimal] | None = key(
        ANY_LENGTH,
        "the way to it from its supply, or from a connector between, of one wire; there and back is"
        " twice that",
    )
    drop: Located[Decimal] | None = key(
        EFFICIENCY,
        "what may be lost on its wires, there and back; that of `wires` unless given. ISO 10133"
        " allows 3 % for navigation lights",
    )
    colour: Located[str] | None = key(COLOUR, "the colour of its switched wire")


@dataclass(frozen=True, kw_only=True)
class DrumItem(Record):
    """A winch's drum, line, gearbox and motor: its travel, run times and pull follow from them."""

    diameter: Located[Decimal] = key(SMALL_LENGTH, "of the bare drum", required=True)
    width: Located[Decimal] = key(SMALL_LENGTH, "between its flanges", required=True)
    flange: Located[Decimal] = key(SMALL_LENGTH, "the diameter of its flanges", required=True)
    line: Located[Decimal] = key(
        SMALL_LENGTH, "how thick the line is; of a chain the height of a laid link", required=True
    )
    length: Located[Decimal] = key(ANY_LENGTH, "what is to be wound", required=True)
    motor: Located[Decimal] = key(ANY_ROTATION, "the motor's speed under load", required=True)
    gearbox: Located[Decimal] = key(
        Number("0.1", "100000", "a ratio such as 200 or 200:1", ending=":1"),
        "how many turns of the motor make one of the drum",
        default="1",
    )
    torque: Located[Decimal] | None = key(ANY_TORQUE, "what the motor gives at that speed")
    efficiency: Located[Decimal] = key(
        EFFICIENCY, "what the gearbox passes on of it (60 %: common practice, no source)",
        default="60 %",
    )  # fmt: skip
    kept_wraps: Located[int] = key(
        Whole(0, 20), "the turns that always stay on the drum, so that its knot bears no load",
        default="3",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class CoilItem(Record):
    """The coil of a relay: of its board the whole input, light and all."""

    supply: Located[str] = key(SUPPLY_NAME, "the supply that feeds it", required=True)
    draws: Located[Decimal] = key(
        ANY_CURRENT, "its current while the relay is on (72 mA: a 70 ohm coil at 5 V)",
        default="72 mA",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ServoPowerItem(Record):
    """What a servo, or the receiver side of a motor controller, takes on its red wire."""

    supply: Located[str] = key(SUPPLY_NAME, "the supply that feeds it", required=True)
    draws: Located[Decimal] = key(ANY_CURRENT, "its current while it moves", required=True)
    stalls: Located[Decimal] | None = key(ANY_CURRENT, "its current when it is held fast")
    fuse: Located[Decimal | str] = key(FUSE, "a fuse of its own", default="auto")
    wire: Located[WireSize | None] = key(OrAuto(WIRE), "the size of its wires", default="auto")
    length: Located[Decimal] | None = key(ANY_LENGTH, "the way from its supply to it")


@dataclass(frozen=True, kw_only=True)
class SupplyItem(Named):
    """A battery, or what is fed from another supply: a strip of the same voltage, or a regulator
    with one of its own."""

    from_: Located[str] | None = key(SUPPLY_NAME, "the supply that feeds it; a battery has none")
    voltage: Located[Decimal] | None = key(
        ANY_VOLTAGE, "its voltage; that of the supply it is fed from unless given"
    )
    capacity: Located[Decimal] | None = key(ANY_CHARGE, "what a battery holds")
    chemistry: Located[str] | None = key(
        Words("lead-acid", "LiFePO4", "LiPo", "NiMH"), "what a battery is made of"
    )
    at: Located[Decimal] | None = key(
        ANY_HOURS,
        "the discharge time that the capacity is told for: 20 h of lead-acid, 5 h of others unless"
        " given (IEC 61951-2, IEC 61960: 0.2 It)",
    )
    peukert: Located[Decimal] | None = key(
        Number("1", "1.6", "an exponent such as 1.1"),
        "Peukert's exponent of a battery, from two rows of its datasheet; its chemistry's unless"
        " given",
    )
    resistance: Located[Decimal] | None = key(
        ANY_RESISTANCE, "what a battery has inside, from its datasheet"
    )
    sensed_on: Located[str] | None = key(
        Plain("a measuring pin such as A0"), "the pin on which its voltage is measured"
    )
    divider: Located[tuple[Decimal, Decimal]] | None = key(
        Divider(), "two resistors that bring its voltage into the board's range"
    )
    kind: Located[str] | None = key(
        Words("switching", "linear"),
        "how a regulator works. A linear one burns the difference: its efficiency follows",
    )
    rating: Located[Decimal] | None = key(ANY_CURRENT, "what a regulator can give")
    efficiency: Located[Decimal] | None = key(
        EFFICIENCY, "what a switching regulator passes on; 85 % unless given"
    )
    fuse: Located[Decimal | str] = key(FUSE, "the fuse at its beginning", default="none")
    fuse_kind: Located[str] = key(
        Words("blade", "glass quick", "glass slow"),
        "its kind, and that of the fuses of what hangs on it: ISO 8820-3 blades or IEC 60127 glass",
        default="blade",
    )
    wire: Located[WireSize | None] = key(
        OrAuto(WIRE), "the size of the wires that feed it, or of a battery's own", default="auto"
    )
    length: Located[Decimal] | None = key(
        ANY_LENGTH, "the way from what feeds it, or of a battery to its strip, of one wire"
    )
    colour: Located[str] | None = key(COLOUR, "the colour of its positive wire; red unless given")


@dataclass(frozen=True)
class Carried:
    """One thing that a connector carries, and the contacts that the owner gave it, if any."""

    what: Located[str]
    contacts: tuple[Located[int], ...]


class Carries(Kind[tuple[Carried, ...]]):
    """A list that takes the contacts in order, or a map that names them."""

    words = "a list of functions and supplies, or a map from them to their contacts"

    def __init__(self) -> None:
        self.what = Plain("the name of a function, of what is always on, of a supply, or 'spare'")
        self.contacts = OneOrMore(Whole(1, MOST_CONTACTS))

    def read(self, node: Node, label: str, problems: Problems) -> tuple[Carried, ...] | None:
        if isinstance(node, ListNode):
            listed = Listed(self.what, self.words).read(node, label, problems)
            return tuple(Carried(one, ()) for one in listed) if listed is not None else None
        if not isinstance(node, MapNode):
            complain_about_kind(node, label, self.words, problems)
            return None
        made = [self._entry(written, value, label, problems) for written, value in node.entries]
        whole = tuple(one for one in made if one is not None)
        return whole if len(whole) == len(made) else None

    def _entry(
        self, written: TextNode, value: Node, label: str, problems: Problems
    ) -> Carried | None:
        what = located(written, label, self.what, problems)
        contacts = self.contacts.read(value, f"{label}: '{written.text}'", problems)
        return Carried(what, contacts) if what is not None and contacts is not None else None

    def schema(self) -> JsonSchema:
        names = {"type": "array", "items": self.what.schema()}
        numbers = {"type": "object", "additionalProperties": self.contacts.schema()}
        return {"anyOf": [names, numbers]}


@dataclass(frozen=True, kw_only=True)
class ConnectorItem(Named):
    """A connector with its cable, such as that between hull and deckhouse."""

    contacts: Located[int] = key(Whole(1, MOST_CONTACTS), "how many it has", required=True)
    rating: Located[Decimal] = key(
        ANY_CURRENT, "what one contact carries at most, from its datasheet", required=True
    )
    wire: Located[WireSize | None] = key(
        OrAuto(WIRE), "the size of the wires of its cable", default="auto"
    )
    length: Located[Decimal] | None = key(ANY_LENGTH, "how long its cable is")
    carries: tuple[Carried, ...] = key(
        Carries(),
        "what its contacts carry: in a list from contact 1 on, 'spare' leaves one free; in a map"
        " each with its contacts, so that none ever moves",
        required=True,
    )
    returns: Located[int | None] = key(
        OrAuto(Whole(1, MOST_CONTACTS)),
        "how many contacts, its last ones, lead the current back together",
        default="auto",
    )


@dataclass(frozen=True, kw_only=True)
class WiresItem(Record):
    """The wires that the owner has, and how they are judged."""

    have: tuple[Located[WireSize], ...] | None = key(
        Listed(WIRE, "a list of wires such as [0.25 mm2, AWG 18]"),
        "the sizes that you have: from these one is proposed; from those that shops have unless"
        " given",
    )
    ampacity: Located[str] = key(
        Words("bundle", "free air"),
        "which column tells what a wire carries: in a bundle 700 circular mils an ampere, single in"
        " free air about seven times that (Handbook of Electronic Tables and Formulas)",
        default="bundle",
    )
    temperature: Located[Decimal] = key(
        Temperature(), "how warm it gets where they lie", default="40 C"
    )
    drop: Located[Decimal] = key(
        EFFICIENCY, "what may be lost of the voltage on the wires of one load, there and back",
        default="5 %",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class DriverItem(Named):
    """A driver chip between the board's pins and coils, lamps or gates."""

    shorthand: ClassVar[str] = "supply"

    kind: Located[str] = key(
        Words("driver array"),
        "driver array: eight outputs that switch to 0 V, 500 mA each, with clamp diodes",
        default="driver array",
    )
    supply: Located[str] = key(
        SUPPLY_NAME, "the supply that its common pin, the clamp diodes, is on", required=True
    )


DRIVER_OUTPUTS = 8
"""As many as a driver array has."""


def supply_mv(name: str, supplies: Section[SupplyItem] | None) -> Decimal | None:
    """The voltage of the supply of this name, its own or that of what feeds it; None if nobody says
    (or it is fed, in the end, from itself)."""
    seen: set[str] = set()
    while supplies is not None and name in supplies.items and name not in seen:
        seen.add(name)
        item = supplies.items[name]
        if item.voltage is not None:
            return item.voltage.value
        if item.from_ is None:
            return None
        name = item.from_.value
    return None
