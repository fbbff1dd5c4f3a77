"""Ship files with drawn supplies, loads, wires and connectors: few make sense, none may fail."""

from __future__ import annotations

import random

HEAD = """\
ship: Gannet
board: nano
receiver: {channels: {a: D2, b: D4, c: A2, d: A3}}
controls: {key: a, key 2: b, winch key: c, knob: {from: d, kind: knob}}
"""


class Drawn:
    """One ship file, the same for the same seed."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)
        self.supplies = ["battery"]
        fed = [self._fed(f"supply {number}") for number in range(self.draw.randrange(4))]
        supplies = [self._battery(), *fed]
        sections = {
            "outputs": self._outputs(),
            "functions": self._functions(),
            "supplies": supplies,
            "always on": [f"receiver: {self._load()}"],
            "drivers": [f"array: {self._supply()}"],
        }
        self.text = HEAD + "".join(
            f"{name}:\n" + "".join(f"  {line}\n" for line in lines)
            for name, lines in sections.items()
        )
        self.text += self._maybe(f"board supply: {self._supply()}\n")
        self.text += self._maybe(self._wires()) + self._maybe(self._harness())

    def _one(self, *choices: str) -> str:
        return self.draw.choice(choices)

    def _maybe(self, text: str, part: float = 0.5) -> str:
        return text if self.draw.random() < part else ""

    def _supply(self) -> str:
        return self.draw.choice(self.supplies)

    def _battery(self) -> str:
        chemistry = self._one("lead-acid", "LiPo", "NiMH", "LiFePO4")
        keys = [
            f"voltage: {self._one('12 V', '7.2 V', '24 V')}",
            self._one("", "capacity: 7 Ah", f"capacity: 7 Ah, chemistry: {chemistry}"),
            self._one("", "fuse: auto", "fuse: 10 A, length: 0.3 m", "length: 1 m"),
            self._one("", "resistance: 20 mOhm, wire: 1 mm2", "peukert: 1.2, at: 10 h"),
        ]
        return f"battery: {{{', '.join(filter(None, keys))}}}"

    def _fed(self, name: str) -> str:
        keys = [
            f"from: {self._supply()}",
            self._one(
                *("", "voltage: 5 V", "voltage: 6 V, kind: switching, rating: 3 A"),
                *("voltage: 5 V, kind: linear", "voltage: 24 V, efficiency: 80 %"),
            ),
            self._one("", "fuse: auto", "fuse: 5 A", "fuse: auto, fuse kind: glass slow"),
            self._one("", "wire: AWG 20", "length: 0.4 m, colour: blue"),
        ]
        self.supplies.append(name)
        return f"{name}: {{{', '.join(filter(None, keys))}}}"

    def _load(self, supply: str = "", more: str = "") -> str:
        leds = f"leds: {{in a row: {self.draw.randrange(1, 6)}, each: 3.2 V, current: 20 mA}}"
        keys = [
            f"supply: {supply or self._supply()}",
            self._one("draws: 0.5 A", "draws: 2 A, stalls: 6 A, kind: motor", leds, "draws: 1 mA"),
            self._one("", "fuse: none", "fuse: 2 A", "fuse: auto"),
            *(self._maybe("length: 1 m"), self._maybe("wire: 0.25 mm2"), self._maybe("drop: 3 %")),
            more,
        ]
        return f"{{{', '.join(filter(None, keys))}}}"

    def _outputs(self) -> list[str]:
        def relay() -> str:
            coil = f", coil: {{supply: {self._supply()}}}"
            return (
                self._maybe(coil) + self._maybe(", contacts: 3 A") + self._maybe(", driver: array")
            )

        power = f", power: {{supply: {self._supply()}, draws: 0.2 A, stalls: 1 A, fuse: none}}"
        return [
            f"relay 1: {{pin: D5{relay()}}}",
            f"gate 1: {{pin: D6, kind: transistor{self._maybe(', driver: array')}}}",
            "gate 2: {pin: A0, kind: transistor}",
            "gate 3: A1",
            f"pair: {{lower: D7, raise: D8{relay()}{self._maybe(', kind: transistor', 0.2)}}}",
            f"servo: {{pin: D9, kind: servo{self._maybe(power)}}}",
            "lamp: {pin: D3, kind: dimmer}",
            "gate 4: {pin: D10, kind: transistor, driver: array}",
        ]

    def _functions(self) -> list[str]:
        def load() -> str:
            return self._maybe(f", load: {self._load()}", 0.7)

        supply = self._supply()
        several = f", loads: {{a: {self._load(supply)}, b: {self._load(supply)}}}"
        apart = (
            f", loads: {{a: {self._load(more='switched by: gate 2')},"
            f" b: {self._load(more='switched by: gate 3')}}}"
        )
        return [
            f"lights: {{toggle: key up, drives: relay 1{self.draw.choice([several, load()])}"
            f"{self._maybe(', never with: davit')}}}",
            f"glow: {{momentary: key down, drives: gate 1{load()}}}",
            f"cabin: {{dimmer: lights, drives: lamp, fade down: 2 s{load()}}}",
            f"steps: {{step: key 2 up, states: {{off: nothing, one: gate 2, two: [gate 2, gate 3]}}"
            f"{self.draw.choice([apart, load()])}}}",
            "davit: {winch: {lower: winch key down, raise: winch key up}, drives: pair,"
            f" limit: {{lower: 5 s, raise: 6 s}}{load()}}}",
            f"arm: {{follow: knob, drives: servo{load()}}}",
            f"bell: {{pulse: key 2 down, for: 1 s, drives: gate 4{load()}}}",
        ]

    def _wires(self) -> str:
        sizes = ["0.25 mm2", "AWG 18", "2.5 mm2", "0.5 mm2", "10 mm2"]
        have = ", ".join(self.draw.sample(sizes, self.draw.randrange(1, 5)))
        return f"wires: {{have: [{have}], ampacity: {self._one('bundle', 'free air')}}}\n"

    def _harness(self) -> str:
        carried = ["lights", "davit", "arm", "steps", "receiver", "spare", "glow", "cabin", "bell"]
        carries = self.draw.sample(carried, self.draw.randrange(1, 7)) + self.supplies[1:]
        keys = [
            f"contacts: {self._one('15', '25')}, rating: {self.draw.randrange(1, 10)} A",
            f"carries: [{', '.join(carries)}]",
            *(
                self._maybe("length: 0.5 m"),
                self._maybe("wire: 0.5 mm2"),
                self._maybe("returns: 2"),
            ),
        ]
        return f"harness: {{plug: {{{', '.join(filter(None, keys))}}}}}\n"
