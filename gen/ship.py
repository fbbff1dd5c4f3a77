"""The ship as its owner wrote it: typed, every value with its place, nothing resolved yet.

These records are the one description of the ship file (see gen/read/keys.py). What belongs to one
behaviour stands with it in gen/behaviours/.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours import REGISTRY
from gen.behaviours.base import FunctionKeys
from gen.diagnostics import Problems, nearest, show
from gen.electric import (
    COLOUR,
    SUPPLY_NAME,
    CoilItem,
    ConnectorItem,
    DriverItem,
    LoadItem,
    ServoPowerItem,
    SupplyItem,
    WiresItem,
)
from gen.nodes import MapNode, Node, TextNode
from gen.read.keys import (
    JsonSchema,
    Located,
    Named,
    Nested,
    Record,
    key,
    keys_of,
    record_schema,
    unknown_key,
)
from gen.read.kinds import (
    ANY_ANGLE,
    ANY_CURRENT,
    CODE_NAME,
    DOING,
    MOST_SLOTS,
    NAME,
    PIN,
    PIN_CURRENT,
    Band,
    Duration,
    Marker,
    OutputCount,
    Plain,
    PulseCount,
    SlotCount,
    Step,
    Text,
    Trigger,
    TriggerText,
    Whole,
    Width,
    Words,
    YesNo,
)
from gen.read.sections import Entries, Items, Listed, OneOrMore, Section
from gen.sensors import SensorItem, Sensors

if TYPE_CHECKING:
    from decimal import Decimal

MOST_SUPPLIES = 32
"""Each is summed up over all that hangs on it."""

LOST_AFTER = Duration("300 ms", least_ticks=10, most_ticks=1000)
VALID = Band(narrowest_us=100)


@dataclass(frozen=True, kw_only=True)
class ChannelItem(Named):
    """One receiver output."""

    shorthand: ClassVar[str] = "pin"

    pin: Located[str] | None = key(
        PIN, "the pin that its signal wire is on; a channel of the sum signal has none"
    )
    shares: Located[int] | None = key(
        SlotCount(), "how many controls it carries in turn, behind a marker"
    )
    marker: Located[tuple[bool, int]] | None = key(
        Marker(), "the pulses of a shared channel that say that its first slot comes next"
    )
    frames_per_slot: Located[int] | None = key(
        Whole(1, 3), "how many pulses each slot, and the marker, lasts: 1 unless given"
    )
    lost_below: Located[int] | None = key(
        Width("930 us"), "a narrower pulse means that the receiver has lost its transmitter"
    )
    lost_above: Located[int] | None = key(
        Width("2100 us"), "a wider pulse means that the receiver has lost its transmitter"
    )
    lost_after: Located[int] | None = key(
        LOST_AFTER, "how long without a good pulse is lost; the receiver's unless given"
    )
    valid: Located[tuple[int, int]] | None = key(
        VALID, "pulses outside are ignored and counted; the receiver's unless given"
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


@dataclass(frozen=True, kw_only=True)
class SumItem(Record):
    """All channels one after another on one pin."""

    pin: Located[str] = key(PIN, "the pin that its signal wire is on", required=True)
    channels: tuple[Located[str], ...] = key(
        Listed(NAME, "a list of channels in the order of the frame"),
        "its channels in order, every one that the receiver sends: 'unused' for those that nobody"
        " needs. One that has more to say stands under channels as well, without a pin",
        required=True,
    )
    gap: Located[int] = key(
        Width("2700 us", most_us=5000),
        "a pause of this length or more ends a frame",
        default="2700 us",
    )
    polarity: Located[str] = key(
        Words("rising", "falling"),
        "the edges from one of which to the next a channel is measured",
        default="rising",
    )


@dataclass(frozen=True, kw_only=True)
class ReceiverItem(Record):
    """The receiver."""

    channels: Section[ChannelItem] | None = key(
        Items("channel", ChannelItem, least=1), "its outputs, each with its pin"
    )
    sum_signal: SumItem | None = key(
        Nested(SumItem, "the keys of a sum signal"), "all channels one after another on one pin"
    )
    lost_after: Located[int] = key(
        LOST_AFTER, "how long without a good pulse is a lost signal", default="300 ms"
    )
    valid: Located[tuple[int, int]] = key(
        VALID, "pulses outside are ignored and counted", default="700..2300 us"
    )


@dataclass(frozen=True, kw_only=True)
class ControlItem(Named):
    """What a thumb moves."""

    shorthand: ClassVar[str] = "from"

    from_: Located[str] = key(Plain("the name of a channel"), "its channel", required=True)
    slot: Located[int] | None = key(
        Whole(1, MOST_SLOTS), "which slot of a shared channel, the one behind the marker is 1"
    )
    kind: Located[str] = key(
        Words("key", "switch", "stick", "knob"),
        "a key springs back to its middle, a switch stays; sticks and knobs also have a value",
        default="key",
    )
    positions: Section[Located[tuple[int, int]]] | None = key(
        Entries("position", Band(), least=1, most=16, words="names, each with its band of widths"),
        "its positions, instead of those that its kind has by itself",
    )
    rest: Located[str] | None = key(
        Plain("one of its positions"),
        "the position that asks for nothing: 'rest' if there is one, else the kind's own",
    )
    settle: Located[int] = key(
        PulseCount(),
        "so many pulses in a row make a new position; of a shared channel, so many cycles",
        default="2 pulses",
    )
    hysteresis: Located[int] = key(
        Width("20 us", most_us=200), "the present position reaches so much further", default="20 us"
    )
    ends: Located[tuple[int, int]] | None = key(
        Band(narrowest_us=50), "where a stick or knob ends: 1000..2000 us unless given"
    )
    centre: Located[int] | None = key(
        Width("1512 us"), "where a stick stands in its middle: between its ends unless given"
    )
    dead_band: Located[int] | None = key(
        Width("4 us", most_us=100), "a smaller change is only noise: 4 us unless given"
    )
    colour: Located[str] | None = key(
        COLOUR, "the colour of its cap or label, in your words: it stands on the control card"
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


@dataclass(frozen=True, kw_only=True)
class LineItem(Named):
    """A relay or transistor on one pin."""

    shorthand: ClassVar[str] = "pin"

    pin: Located[str] = key(PIN, "its pin", required=True)
    kind: Located[str] = key(Words("relay", "transistor"), "what is on the pin", default="relay")
    active: Located[str] = key(
        Words("low", "high"), "the level that switches it on", default="high"
    )
    draws: Located[Decimal] = key(
        PIN_CURRENT, "what the pin itself must carry while it is on", default="5 mA"
    )
    coil: CoilItem | None = key(
        Nested(CoilItem, "the keys of a coil"), "what its relay's coil takes, from which supply"
    )
    contacts: Located[Decimal] | None = key(
        ANY_CURRENT, "what its relay's contact, or a transistor, switches at most"
    )
    driver: Located[str] | None = key(
        Plain("the name of a driver"), "the driver chip between its pin and what it switches"
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


@dataclass(frozen=True, kw_only=True)
class PairItem(Named):
    """Two lines that drive one motor two ways."""

    free: ClassVar[str] = "ways"

    ways: Section[Located[str]] = key(
        Entries("way", PIN, least=2, most=2, words="two ways, each with its pin"),
        "the words for the two ways as keys, each with its pin",
        required=True,
    )
    kind: Located[str] = key(Words("relay", "transistor"), "what is on the pins", default="relay")
    active: Located[str] = key(
        Words("low", "high"), "the level that switches them on", default="high"
    )
    draws: Located[Decimal] = key(
        PIN_CURRENT, "what each pin itself must carry while it is on", default="5 mA"
    )
    coil: CoilItem | None = key(
        Nested(CoilItem, "the keys of a coil"), "what each relay's coil takes, from which supply"
    )
    contacts: Located[Decimal] | None = key(
        ANY_CURRENT, "what each relay's contact, or a transistor, switches at most"
    )
    driver: Located[str] | None = key(
        Plain("the name of a driver"), "the driver chip between its pins and what it switches"
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


@dataclass(frozen=True, kw_only=True)
class ServoItem(Named):
    """A servo."""

    pin: Located[str] = key(PIN, "its pin", required=True)
    kind: Located[str] = key(Words("servo"), "servo", required=True)
    range: Located[tuple[int, int]] = key(
        Band(500, 2500, narrowest_us=10), "its two ends", default="1000..2000 us"
    )
    rest: Located[int] | None = key(
        Width("1500 us"), "where it stands at power-up and when off: its middle unless given"
    )
    travel: Located[Decimal] = key(ANY_ANGLE, "how far it turns from end to end", default="90 deg")
    draws: Located[Decimal] = key(PIN_CURRENT, "what its signal wire takes", default="1 mA")
    power: ServoPowerItem | None = key(
        Nested(ServoPowerItem, "the keys of a servo's power"), "what it takes on its red wire"
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


@dataclass(frozen=True, kw_only=True)
class RegisterItem(Named):
    """A chain of 8-bit shift registers: many outputs from three pins."""

    kind: Located[str] = key(Words("shift register"), "shift register", required=True)
    data: Located[str] = key(PIN, "the pin to the first one's serial input", required=True)
    clock: Located[str] = key(PIN, "the pin to all their shift clocks", required=True)
    latch: Located[str] = key(PIN, "the pin to all their storage clocks", required=True)
    blank: Located[str] | None = key(
        PIN, "the pin to all their output enables, pulled up to 5 V by a resistor"
    )
    outputs: Located[int] = key(OutputCount(), "how many outputs they have", required=True)
    active: Located[str] = key(
        Words("low", "high"),
        "the level that switches on what names no level itself",
        default="high",
    )
    draws: Located[Decimal] = key(
        PIN_CURRENT, "what each of the board's pins must carry", default="1 mA"
    )
    coil: CoilItem | None = key(
        Nested(CoilItem, "the keys of a coil"), "what each relay's coil takes, from which supply"
    )
    contacts: Located[Decimal] | None = key(
        ANY_CURRENT, "what each relay's contact, or a transistor, switches at most"
    )
    driver: Located[str] | None = key(
        Plain("the name of a driver"), "the driver chip between its outputs and what it switches"
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


@dataclass(frozen=True, kw_only=True)
class DimmerItem(Named):
    """A light whose brightness can be set, behind a transistor or an LED of its own."""

    pin: Located[str] = key(PIN, "its pin", required=True)
    kind: Located[str] = key(Words("dimmer"), "dimmer", required=True)
    draws: Located[Decimal] = key(
        PIN_CURRENT, "what the pin itself must carry at full brightness", default="5 mA"
    )
    driver: Located[str] | None = key(
        Plain("the name of a driver"), "the driver chip between its pin and what it switches"
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")


OutputItem = LineItem | PairItem | ServoItem | RegisterItem | DimmerItem


class Outputs(Items[OutputItem]):
    """The section of outputs, which are of several kinds."""

    RECORDS = (LineItem, PairItem, ServoItem, RegisterItem, DimmerItem)
    KINDS: ClassVar[
        dict[str, type[LineItem] | type[ServoItem] | type[RegisterItem] | type[DimmerItem]]
    ] = {
        "relay": LineItem,
        "transistor": LineItem,
        "servo": ServoItem,
        "shift register": RegisterItem,
        "dimmer": DimmerItem,
    }
    LATER: ClassVar[frozenset[str]] = frozenset()

    def __init__(self) -> None:
        super().__init__("output", LineItem)

    def record_for(self, node: Node, label: str, problems: Problems) -> type[OutputItem] | None:
        if not isinstance(node, MapNode):
            return LineItem
        keys = {written.text: value for written, value in node.entries}
        kind = keys.get("kind")
        if isinstance(kind, TextNode) and kind.text not in self.KINDS:
            if kind.text in self.LATER:
                unknown_key(kind, label, {}, self.LATER, problems)
            else:
                problems.add(
                    "unknown-word",
                    kind.place,
                    f"{label}: kind is unknown",
                    got=show(kind.text),
                    expected=", ".join(self.KINDS),
                    hint=nearest(kind.text, self.KINDS),
                )
            return None
        if isinstance(kind, TextNode) and self.KINDS[kind.text] is not LineItem:
            return self.KINDS[kind.text]
        ways = [text for text in keys if text not in keys_of(PairItem)]
        return LineItem if "pin" in ways or len(ways) == 1 else PairItem

    def schema(self) -> JsonSchema:
        made = super().schema()
        made["additionalProperties"] = {"anyOf": [record_schema(one) for one in self.RECORDS]}
        return made


class Functions(Items[FunctionKeys]):
    """The section of functions: each has the keys of the behaviour that it names."""

    LATER: ClassVar[frozenset[str]] = frozenset()

    def __init__(self) -> None:
        super().__init__("function", FunctionKeys, least=1)

    def record_for(self, node: Node, label: str, problems: Problems) -> type[FunctionKeys] | None:
        words = ", ".join(REGISTRY)
        if not isinstance(node, MapNode):
            return FunctionKeys
        named = [written for written, _ in node.entries if written.text in REGISTRY]
        unknown = self.LATER - REGISTRY.keys()
        later = [written for written, _ in node.entries if written.text in unknown]
        if later:
            for written in later:
                unknown_key(written, label, REGISTRY, unknown, problems)
            return None
        if len(named) != 1:
            place = named[1].place if named else node.place
            known = [written.text for written, _ in node.entries]
            close = [hint for one in known if (hint := nearest(one, REGISTRY, most_listed=0))]
            problems.add(
                "two-behaviours" if named else "no-behaviour",
                place,
                f"{label}: " + ("a second behaviour" if named else "no behaviour is named"),
                got=show(named[1].text) if named else "",
                expected=f"one of {words}",
                hint=close[0] if close and not named else "",
            )
            return None
        return REGISTRY[named[0].text].written

    def schema(self) -> JsonSchema:
        made = super().schema()
        behaviours = [record_schema(one.written) for one in REGISTRY.values()]
        made["additionalProperties"] = {"anyOf": behaviours}
        return made


@dataclass(frozen=True, kw_only=True)
class GroupItem(Named):
    """Functions that get in each other's way."""

    never_together: tuple[Located[str], ...] | None = key(
        OneOrMore(DOING), "of these only one runs at a time: the one that runs keeps others off"
    )
    both_is_stop: tuple[Located[str], ...] | None = key(
        OneOrMore(Plain("the name of a function")), "asking for two of these stops them all"
    )


@dataclass(frozen=True, kw_only=True)
class LowBatteryItem(Record):
    """What is switched off, stage by stage, as the battery runs down."""

    free: ClassVar[str] = "stages"

    stages: Section[tuple[Located[str], ...]] = key(
        Entries(
            "stage",
            OneOrMore(Plain("the name of a function")),
            least=1,
            most=8,
            words="stages such as 'below 11.4 V for 5 s', each with its functions",
        ),
        "a voltage such as `below 11.4 V for 5 s`, and what is then switched off",
        required=True,
    )
    recovers: Located[TriggerText] = key(
        Trigger("'above 12.2 V for 30 s'"), "when the battery is good again", required=True
    )
    watches: Located[str] | None = key(
        Plain("the name of a supply that is sensed"), "which supply: the one that is sensed"
    )


@dataclass(frozen=True, kw_only=True)
class BenchItem(Record):
    """Whether a computer on USB may work the ship."""

    shorthand: ClassVar[str] = "allowed"

    allowed: Located[bool] | None = key(
        YesNo(), "whether it may at all: with a jumper yes unless given, without one no"
    )
    jumper: Located[str] | None = key(
        PIN, "it may only if this pin is tied to ground when power comes; always without it"
    )


class Trials(Entries[tuple[Located[str], ...]]):
    """The section of trials. Each stands for itself."""

    whole = False


@dataclass(frozen=True, kw_only=True)
class Ship(Record):
    """The whole ship file."""

    ship: Located[str] = key(NAME, "the ship's name", required=True)
    board: Located[str] = key(Plain("the name of a board such as nano"), "the board", required=True)
    remark: Located[str] | None = key(Text("a remark", 120), "a few words for the sketch's head")
    code_name: Located[str] | None = key(CODE_NAME, "the name of the sketch's folder")
    receiver: ReceiverItem = key(
        Nested(ReceiverItem, "the receiver's keys"), "the radio receiver", required=True
    )
    controls: Section[ControlItem] = key(
        Items("control", ControlItem, least=1), "what a thumb moves", required=True
    )
    sensors: Section[SensorItem] | None = key(Sensors(), "what the ship feels")
    outputs: Section[OutputItem] = key(Outputs(), "what is on the board's pins", required=True)
    functions: Section[FunctionKeys] = key(Functions(), "what the ship does", required=True)
    groups: Section[GroupItem] | None = key(
        Items("group", GroupItem), "functions that must not run together"
    )
    supplies: Section[SupplyItem] | None = key(
        Items("supply", SupplyItem, most=MOST_SUPPLIES), "batteries and what they feed"
    )
    board_supply: Located[str] | None = key(
        SUPPLY_NAME, "the supply that feeds the board; none while it hangs on USB"
    )
    board_draws: Located[Decimal] = key(
        PIN_CURRENT,
        "what the board itself takes, without its pins (60 mA: common practice, no source)",
        default="60 mA",
    )
    always_on: Section[LoadItem] | None = key(
        Entries("load", Nested(LoadItem, "the keys of a load")),
        "what no function switches, such as the receiver: names, each with the keys of a load",
    )
    drivers: Section[DriverItem] | None = key(
        Items("driver", DriverItem), "driver chips between the board and what it switches"
    )
    wires: WiresItem | None = key(
        Nested(WiresItem, "the keys of wires"), "the wires that you have, and how they are judged"
    )
    harness: Section[ConnectorItem] | None = key(
        Items("connector", ConnectorItem), "connectors, such as those to a deckhouse"
    )
    low_battery: LowBatteryItem | None = key(
        Nested(LowBatteryItem, "stages"), "what goes without as the battery runs down"
    )
    bench: BenchItem | None = key(
        Nested(BenchItem, "yes, no, or a jumper"),
        "whether a computer may put its own pulses in place of the receiver's and force functions",
    )
    rules: tuple[Located[str], ...] | None = key(
        Listed(Text("a rule such as 'never davit lowering while anchor'", 200), "a list of rules"),
        "what must never happen, for `pinrail prove`",
    )
    trials: Section[tuple[Located[str], ...]] | None = key(
        Trials("trial", Listed(Step(), "a list of steps")),
        "what the ship is tried with",
    )
