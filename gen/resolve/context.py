"""What a behaviour may ask for while its function is resolved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gen.diagnostics import nearest, nearest_start, show
from gen.plan import Ask
from gen.read.keys import Located, complain
from gen.resolve.doings import function_named
from gen.ship import DimmerItem, LineItem, PairItem, RegisterItem, ServoItem

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.behaviours.base import DrivesKeys, FunctionKeys
    from gen.behaviours.driven import Driven
    from gen.diagnostics import Place, Problems
    from gen.plan import Control, Felt, StateOf
    from gen.resolve.doings import Doings
    from gen.resolve.outputs import ResolvedOutputs
    from gen.resolve.sensors import Feeling
    from gen.ship import Ship
    from gen.units import Wrong


@dataclass(frozen=True)
class PairPlace:
    """A pair in the plan: its index, its two ways and the lines of each."""

    index: int
    ways: tuple[str, str]
    lines: tuple[int, int]


@dataclass(frozen=True)
class ServoPlace:
    """A servo in the plan: its index, its range and how far it turns over it."""

    index: int
    range_half_us: tuple[int, int]
    travel_deg: Decimal


@dataclass(frozen=True)
class StickPlace:
    """A knob or stick in the plan: its index, its ends and where it stands in the middle."""

    index: int
    ends_half_us: tuple[int, int]
    centre_half_us: int


@dataclass(frozen=True)
class LampPlace:
    """A line or a light in the plan, by its index."""

    line: int | None
    light: int | None


KINDS = {
    LineItem: "a single line",
    PairItem: "a pair",
    ServoItem: "a servo",
    RegisterItem: "a shift register",
    DimmerItem: "a dimmer",
}


class Context:
    """Looks up what a function names, notes what is missing, and remembers what was used.

    Every method that looks something up returns None after noting why there is nothing; a name
    whose own entry is unusable has been complained about and is passed over in silence.
    """

    def __init__(
        self,
        ship: Ship,
        controls: tuple[Control, ...],
        outputs: ResolvedOutputs,
        *,
        feeling: Feeling,
        codes: dict[str, str],
        doings: Doings,
        problems: Problems,
    ) -> None:
        self._ship = ship
        self._controls = controls
        self._outputs = outputs
        self._feeling = feeling
        self._codes = codes
        self._doings = doings
        self._problems = problems
        self._drivers: dict[str, tuple[FunctionKeys, Place]] = {}
        self.used_controls: set[str] = set()

    @property
    def used_outputs(self) -> set[str]:
        """The names of outputs that some function drives, and of registers that have such."""
        return set(self._drivers) | self._outputs.used_registers

    @property
    def used_sensors(self) -> set[str]:
        """The names of sensors that some function looks at."""
        return self._feeling.used

    def problem(
        self,
        code: str,
        place: Place,
        what: str,
        *,
        got: str = "",
        expected: str = "",
        hint: str = "",
    ) -> None:
        """Notes one problem."""
        self._problems.add(code, place, what, got=got, expected=expected, hint=hint)

    def complain(self, place: Place, label: str, text: str, wrong: Wrong) -> None:
        """Notes what is wrong with a text."""
        complain(self._problems, place, label, text, wrong)

    def names_control(self, text: str) -> bool:
        """Whether a text begins with the name of a control rather than that of a function."""
        controls = {control.name for control in self._controls} | self._ship.controls.broken
        longest = max(
            (n for n in controls if text == n or text.startswith(f"{n} ")), key=len, default=""
        )
        return bool(longest) and len(longest) >= len(
            function_named(text, self._ship.functions.items)
        )

    def code(self, function: FunctionKeys) -> str:
        """The function's name in the sketch."""
        return self._codes[function.name.value]

    def ask(
        self, function: FunctionKeys, position: Located[str], *, at_rest: bool = False
    ) -> Ask | None:
        """The control and position of a text such as "foredeck key up". `at_rest`: whether it may
        be the position in which the control rests."""
        label = f"function {show(function.name.value)}"
        found = [
            Ask(control_index, position_index)
            for control_index, control in enumerate(self._controls)
            for position_index, known in enumerate(control.positions)
            if position.value == f"{control.name} {known.name}"
        ]
        if not found:
            self._no_position(position, label)
            return None
        for ask in found:
            self.used_controls.add(self._controls[ask.control].name)
        if len(found) > 1:
            meant = " or ".join(
                f"{show(self._controls[ask.control].name)} in "
                f"{show(self._controls[ask.control].positions[ask.position].name)}"
                for ask in found
            )
            what = f"{label}: two positions can be meant"
            self.problem(
                "ambiguous-name", position.place, what, got=show(position.text), expected=meant
            )
            return None
        control = self._controls[found[0].control]
        if not at_rest and found[0].position == control.rest:
            self.problem(
                "asks-at-rest",
                position.place,
                f"{label}: {show(control.name)} asks for nothing there, it is at rest",
                got=show(position.text),
                expected=self._other_positions(control),
            )
            return None
        return found[0]

    @staticmethod
    def _other_positions(control: Control) -> str:
        names = [p.name for index, p in enumerate(control.positions) if index != control.rest]
        return "one of " + ", ".join(f"{control.name} {name}" for name in names) if names else ""

    def _no_position(self, position: Located[str], label: str) -> None:
        text = position.value
        if any(text == name or text.startswith(f"{name} ") for name in self._ship.controls.broken):
            return
        known = [f"{c.name} {p.name}" for c in self._controls for p in c.positions]
        for control in self._controls:
            if text == control.name or text.startswith(f"{control.name} "):
                self.used_controls.add(control.name)
                known = [f"{control.name} {p.name}" for p in control.positions]
        self.problem(
            "unknown-name",
            position.place,
            f"{label}: there is no such control and position",
            got=show(text),
            expected="a control and one of its positions",
            hint=nearest(text, known),
        )

    def state_of(self, function: FunctionKeys, text: Located[str]) -> StateOf | None:
        """What "deck lights" or "davit lowering" asks for. The function must have named the text
        in `depends_on`."""
        return self._doings.state_of(text, f"function {show(function.name.value)}")

    def proportional(self, function: FunctionKeys, name: Located[str]) -> int | None:
        """The index of a knob or stick."""
        label = f"function {show(function.name.value)}"
        for index, control in enumerate(self._controls):
            if control.name == name.value:
                self.used_controls.add(control.name)
                if control.proportional:
                    return index
                self.problem(
                    "not-proportional",
                    name.place,
                    f"{label}: {show(control.name)} is a {control.kind} and has no value to follow",
                    got=show(name.text),
                    expected="a stick or a knob",
                )
                return None
        if name.value not in self._ship.controls.broken:
            self.problem(
                "unknown-name",
                name.place,
                f"{label}: there is no such control",
                got=show(name.text),
                hint=nearest(name.value, [control.name for control in self._controls]),
            )
        return None

    def stick(self, function: FunctionKeys, name: Located[str]) -> StickPlace | None:
        """A knob or stick and its three points."""
        index = self.proportional(function, name)
        if index is None:
            return None
        ends = self._controls[index].ends_half_us
        centre = self._ship.controls.items[name.value].centre
        return StickPlace(index, ends, centre.value if centre is not None else sum(ends) // 2)

    def trigger(
        self, function: FunctionKeys, written: Located[Any], text: str
    ) -> Felt | StateOf | None:
        """What a text such as "bilge sensor above 2.5 V" says of a sensor, or "davit lowering" of a
        function. The function must have named the text in `depends_on`."""
        label = f"function {show(function.name.value)}"
        functions = self._ship.functions
        named = function_named(text, [*functions.items, *functions.broken])
        if len(named) > len(function_named(text, [*self._feeling.names, *self._feeling.broken])):
            return self._doings.state_of(Located(text, written.text, written.place), label)
        if self._feeling.names_one(text) is not None:
            return self._feeling.felt(label, written, text)
        if not function_named(text, self._feeling.broken):
            self.problem(
                "unknown-name",
                written.place,
                f"{label}: there is no such sensor or function",
                got=show(written.text),
                hint=nearest_start(text, [*self._feeling.names, *functions.items]),
            )
        return None

    def line(self, function: DrivesKeys) -> int | None:
        """The index of the line that this function drives."""
        return self.line_named(function, function.drives)

    def line_named(self, function: FunctionKeys, name: Located[str]) -> int | None:
        """The index of the line of this name, one of those that this function drives."""
        item = self._output(function, name, (LineItem,), "a relay or a transistor")
        if item is None:
            return None
        names = [line.name for line in self._outputs.lines]
        return names.index(item)

    def light(self, function: DrivesKeys) -> int | None:
        """The index of the light that this function drives."""
        item = self._output(function, function.drives, (DimmerItem,), "a dimmer")
        if item is None:
            return None
        return [light.name for light in self._outputs.lights].index(item)

    def lamp(self, function: FunctionKeys, driven: Located[Driven]) -> LampPlace | None:
        """The line or light of a text such as "lamp at 30 %"."""
        name = Located(driven.value.output, driven.text, driven.place)
        item = self._output(function, name, (LineItem, DimmerItem), "a single line or a dimmer")
        if item is None:
            return None
        lines = [line.name for line in self._outputs.lines]
        lights = [light.name for light in self._outputs.lights]
        if item in lines:
            return LampPlace(lines.index(item), None)
        return LampPlace(None, lights.index(item))

    def pair(self, function: DrivesKeys) -> PairPlace | None:
        """The pair that this function drives."""
        name = self._output(function, function.drives, (PairItem,), "a pair of two ways")
        if name is None:
            return None
        index = [pair.name for pair in self._outputs.pairs].index(name)
        pair = self._outputs.pairs[index]
        return PairPlace(index, self._outputs.ways[name], (pair.first, pair.second))

    def servo(self, function: DrivesKeys) -> ServoPlace | None:
        """The servo that this function drives."""
        name = self._output(function, function.drives, (ServoItem,), "a servo")
        item = self._ship.outputs.items.get(name) if name is not None else None
        if not isinstance(item, ServoItem):
            return None
        index = [servo.name for servo in self._outputs.servos].index(item.name.value)
        return ServoPlace(index, item.range.value, item.travel.value)

    def _output(
        self, function: FunctionKeys, drives: Located[str], kinds: tuple[type, ...], words: str
    ) -> str | None:
        label = f"function {show(function.name.value)}"
        outputs = self._ship.outputs
        item = outputs.items.get(drives.value)
        if item is None:
            if drives.value not in outputs.broken:
                self.problem(
                    "unknown-name",
                    drives.place,
                    f"{label}: there is no such output",
                    got=show(drives.text),
                    hint=nearest(drives.value, outputs.items),
                )
            return None
        first, place = self._drivers.setdefault(drives.value, (function, drives.place))
        if not isinstance(item, kinds):
            what = f"{label}: cannot drive {show(drives.value)}"
            got = KINDS[type(item)]
            self.problem("wrong-output", drives.place, what, got=got, expected=words)
            return None
        if first is not function:
            both = [(first, place), (function, drives.place)]
            (earlier, _), (later, place) = sorted(both, key=lambda one: one[0].place)
            what = (
                f"function {show(later.name.value)}: the output is driven by function "
                f"{show(earlier.name.value)} in line {earlier.place.line}"
            )
            self.problem("driven-twice", place, what, got=show(drives.text))
            return None
        return drives.value
