"""What the sketch's templates see: C++ names, expressions and columns, ready to be written down."""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING, Any

from gen import __version__
from gen.lightness import DUTIES
from gen.plan import (
    HALF_US_PER_US,
    MOST_COUNTS,
    NOTHING_THERE,
    ON_ITS_OWN,
    SUM_SIGNAL,
    AnalogueSensor,
)
from gen.render.columns import aligned
from gen.render.gate_view import asked_first, felt, gate_remark, run_call, told, waits_of
from gen.render.link_view import notes_bytes, who

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from gen.plan import Channel, Control, Plan, Sensor, Sharing

PULSES_OF_A_SUM = 8
"""The sum signal's valid pulses in one tick: 5 ms hold 7 of the shortest, and the gap before."""

PULSES_BESIDE_INPUTS = 8
"""Room in each tick for further ones; a train of valid pulses never needs it."""


def ship_view(plan: Plan) -> dict[str, Any]:
    """Everything that the templates of `templates/sketch/` name after `ship.`"""
    tables = _Tables(plan)
    keeping = _keeping(plan)
    return {
        "title": plan.ship or "Recorder",
        "remark": f" - {plan.remark}" if plan.remark else "",
        "is_recorder": plan.is_recorder,
        "version": __version__,
        "source": plan.source,
        "board": plan.board,
        "plan_id": plan.plan_id,
        "main_file": f"{plan.code}.ino",
        "cautions": _cautions(plan),
        "headers": sorted({name for function in plan.functions for name in function.headers}),
        "pins": _pins(plan),
        "table_head": _table(plan)[0],
        "table": _table(plan)[1:],
        "line_bytes": max(1, (len(plan.lines) + 7) // 8),
        "servo_slots": max(1, len(plan.servos)),
        "servo_rests": [half_us(servo.rest_half_us) for servo in plan.servos] or ["0"],
        "lights": [{"code": light.code, "index": i} for i, light in enumerate(plan.lights)],
        "light_slots": max(1, len(plan.lights)),
        "duties": _rows_of(DUTIES),
        "function_tables": _function_tables(plan),
        "pulses_max": pulses_max(plan),
        "who": who(plan),
        "notes_bytes": notes_bytes(plan),
        "channel_rules": tables.channel_rules.rows,
        "sharing_rules": tables.sharing_rules.rows,
        "inputs": len(plan.inputs),
        "logic_headers": logic_headers(plan),
        "control_rules": tables.control_rules.rows,
        "bands": tables.bands.rows,
        **_asks(plan),
        "stages": [
            ", ".join(
                [
                    felt(plan, stage.below),
                    str(stage.for_ticks),
                    felt(plan, stage.above),
                    str(stage.back_ticks),
                ]
            )
            for stage in plan.stages
        ],
        "sensor_slots": max(1, len(plan.sensors)),
        "sensors": [
            {
                "code": sensor.code,
                "type": "Voltage" if isinstance(sensor, AnalogueSensor) else "Contact",
                "source": f"{sensor.pin}, {_source(plan, sensor.source_line)}",
                "feel": _feel(index, sensor),
            }
            for index, sensor in enumerate(plan.sensors)
        ],
        "lines": [{"code": line.code, "index": index} for index, line in enumerate(plan.lines)],
        "pairs": [
            {
                "code": pair.code,
                "first": plan.lines[pair.first].code,
                "second": plan.lines[pair.second].code,
            }
            for pair in plan.pairs
        ],
        "servos": [
            {
                "code": servo.code,
                "index": index,
                "low": half_us(servo.range_half_us[0]),
                "high": half_us(servo.range_half_us[1]),
                "rest": half_us(servo.rest_half_us),
            }
            for index, servo in enumerate(plan.servos)
        ],
        "channels_in_order": [tables.channel(channel) for channel in plan.channels],
        "channels_with_a_pin": [
            {"input": number, **tables.heard_by(one.channels[0])}
            for number, one in enumerate(plan.inputs)
            if not one.is_sum
        ],
        "sum_signal": _sum_signal(plan, tables),
        "slots_due": tables.slots_due(),
        "controls_in_order": [
            {
                **tables.control(control),
                "rest": control.rest,
                "channel": plan.channels[control.channel].code,
                "channel_rules": tables.channel(plan.channels[control.channel])["rules"],
            }
            for control in plan.controls
        ],
        "bench": _bench(plan),
        "most_counts": MOST_COUNTS,
        "kept_bytes": plan.kept_bytes,
        "mark": f"0x{plan.mark:04X}",
        "keeping": keeping,
        "lets_go_of": [row for row in keeping if row["forced"]],
        "kept_places": [row["at"] for row in keeping if row["moves"]],
        "asked_first": asked_first(plan),
        "functions_in_order": [
            {
                "code": function.code,
                "type": function.type_name,
                "begun": f"{{::{function.code}}}" if function.memory_begins_from_plan else "{}",
                "told": "" if function.gate.both_is_stop else told(plan, function),
                "waits": waits_of(function),
                "shed": function.gate.stage is not None,
                "call": run_call(plan, index),
                "forces": function.forces,
            }
            for index, function in enumerate(plan.functions)
        ],
    }


def _cautions(plan: Plan) -> list[str]:
    """What to keep clear of, in lines of a comment; none if nothing moves."""
    moving = ", ".join(function.name for function in plan.functions if function.moves)
    if not moving:
        return []
    text = (
        "CAUTION: this sketch moves things. Before power is applied: fuse at the battery, "
        f"propellers off, fingers, hair and cables clear of {moving}."
    )
    return textwrap.wrap(text, 100, break_on_hyphens=False)


def _bench(plan: Plan) -> str:
    """When a computer may work the ship, in words; "" if it may not."""
    if plan.bench is None:
        return ""
    return f"after power-up with {plan.bench.jumper} on ground" if plan.bench.jumper else "always"


def _feel(index: int, sensor: Sensor) -> str:
    """The call that gives a sensor its reading."""
    reading = f"readings.at[{index}]"
    if isinstance(sensor, AnalogueSensor):
        return f"{sensor.code}.feel({reading}, {sensor.share_per_65536})"
    closed = f"{reading} == 0" if sensor.active_low else f"{reading} != 0"
    return f"{sensor.code}.feel({closed}, {sensor.debounce_ticks})"


TABLES_ABOUT = {
    "lights_of": "The lights that one function drives together",
    "levels_of": "Their duties in each of its states",
    "lines_of": "The lines that one function drives together",
    "states_of": "Which of them are on in each of its states",
    "phases": "How long rhythms are on and off in turn, in ticks",
    "legs": "Legs of sequences: lines on, state, ticks at most, condition, what if it is late",
}
"""What the functions' own tables hold, by the namespace of each kind, in the sketch's order."""


def _function_tables(plan: Plan) -> list[dict[str, Any]]:
    """The functions' own tables in flash, by kind."""
    every = [(f.code, table) for f in _as_written(plan.functions) for table in f.tables(plan)]
    return [
        {
            "name": kind,
            "about": about,
            "tables": [
                {"code": code, "type": table.type, "rows": _rows_of(table.rows)}
                for code, table in every
                if table.kind == kind
            ],
        }
        for kind, about in TABLES_ABOUT.items()
        if any(table.kind == kind for _, table in every)
    ]


def _rows_of(cells: Iterable[Any], width: int = 96) -> list[str]:
    """Cells in lines of at most so many characters, a structure in a line of its own."""
    texts = [str(cell) for cell in cells]
    if texts[0].startswith("{"):
        return [f"{text}," for text in texts]
    return textwrap.wrap(", ".join(texts) + ",", width)


def _keeping(plan: Plan) -> list[dict[str, Any]]:
    """The functions that keep something over power-off, and where among its bytes."""
    rows = []
    at = 0
    for index, function in enumerate(plan.functions):
        if function.kept_bytes:
            comes_back = plan.bench is not None and not function.moves
            forced = f"force_state.to({index}).exists()" if comes_back else ""
            rows.append(
                {"code": function.code, "at": at, "forced": forced, "moves": function.moves}
            )
        at += function.kept_bytes
    return rows


def pulses_max(plan: Plan) -> int:
    """How many pulses the sketch takes in one tick."""
    in_a_tick = sum(PULSES_OF_A_SUM if one.is_sum else 1 for one in plan.inputs)
    return in_a_tick + PULSES_BESIDE_INPUTS


def logic_headers(plan: Plan) -> list[str]:
    """The headers of the logic that not every ship needs."""
    shared = any(channel.sharing is not None for channel in plan.channels)
    needed = {
        "channel.h": plan.is_recorder,  # else a behaviour brings it
        "force.h": plan.bench is not None,
        "shared_channel.h": shared,
        "sum_signal.h": plan.sum_signal is not None,
    }
    return [header for header, is_needed in needed.items() if is_needed]


def half_us(width: int) -> str:
    """A width as the sketch writes it: in whole microseconds wherever it is one."""
    whole, half = divmod(width, HALF_US_PER_US)
    return f"half_us({width})" if half else f"us({whole})"


class _Rows:
    """A table of which equal rows are written once, each named after the first that needs it."""

    def __init__(self) -> None:
        self.rows: list[dict[str, Any]] = []
        self._codes: dict[Any, str] = {}

    def code(self, stem: str, key: Any, row: dict[str, Any]) -> str:
        """The C++ name of the row for `key`, which is added if it is new."""
        if key not in self._codes:
            same_stem = sum(code.rstrip("_0123456789") == stem for code in self._codes.values())
            self._codes[key] = f"{stem}_{same_stem + 1}" if same_stem else stem
            self.rows.append({"code": self._codes[key], **row})
        return self._codes[key]


class _Tables:
    """The flash tables that channels and controls share."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.channel_rules = _Rows()
        self.sharing_rules = _Rows()
        self.control_rules = _Rows()
        self.bands = _Rows()
        in_slots = [index for index, one in enumerate(plan.channels) if one.sharing is not None]
        self._in_slots = [
            (index, control)
            for index in in_slots
            for control in plan.controls
            if control.channel == index
        ]

    def channel(self, channel: Channel) -> dict[str, Any]:
        low, high = channel.valid_half_us
        rules = {
            "valid_low": half_us(low),
            "valid_high": half_us(high),
            "lost_below": half_us(channel.lost_below_half_us),
            "lost_above": half_us(channel.lost_above_half_us),
            "lost_after_ticks": channel.lost_after_ticks,
        }
        sharing = channel.sharing
        return {
            "code": channel.code,
            "type": f"SharedChannel<{sharing.slots}, {sharing.frames_per_slot}>"
            if sharing is not None
            else "Channel",
            "rules": self.channel_rules.code("ReceiverRules", tuple(rules.values()), rules),
            "sharing_rules": self._sharing(sharing) if sharing is not None else "",
            "source": channel.pin
            if self.plan.is_recorder
            else f"{channel.pin}, {_source(self.plan, channel.source_line)}",
        }

    def _sharing(self, sharing: Sharing) -> str:
        low, high = (half_us(width) for width in sharing.marker_half_us)
        rules = {"marker_low": low, "marker_high": high}
        return self.sharing_rules.code("SharingRules", (low, high), rules)

    def heard_by(self, index: int) -> dict[str, Any]:
        """A channel and who hears it."""
        controls = [control for control in self.plan.controls if control.channel == index]
        return {
            **self.channel(self.plan.channels[index]),
            "controls": [self.control(control) for control in controls],
            "first_due": next(
                (due for due, (channel, _) in enumerate(self._in_slots, 1) if channel == index), 0
            ),
        }

    def slots_due(self) -> list[dict[str, Any]]:
        """Who hears of a round on a shared channel, one after another: each with its number, from
        1 on, and that of the next one on the same channel, 0 behind the last."""
        after = [channel for channel, _ in self._in_slots[1:]]
        return [
            {
                **self.control(control),
                "channel": self.plan.channels[channel].code,
                "number": number,
                "next": number + 1 if after[number - 1 : number] == [channel] else 0,
            }
            for number, (channel, control) in enumerate(self._in_slots, 1)
        ]

    def control(self, control: Control) -> dict[str, Any]:
        bands = self.bands.code(
            f"{control.kind}_bands",
            control.positions,
            {
                "bands": [
                    {
                        "low": half_us(position.low_half_us),
                        "high": half_us(position.high_half_us),
                        "name": position.name,
                    }
                    for position in control.positions
                ]
            },
        )
        rules = {
            "bands": bands,
            "positions": len(control.positions),
            "settle_pulses": control.settle_pulses,
            "hysteresis": half_us(control.hysteresis_half_us),
        }
        stem = f"{control.kind.capitalize()}Rules"
        return {
            "code": control.code,
            "type": _control_type(control),
            "rules": self.control_rules.code(stem, tuple(rules.values()), rules),
            "hears": [half_us(control.dead_band_half_us)] if control.proportional else [],
            "slot": control.slot - 1,
            "source": (
                f"{self.plan.channels[control.channel].name}, "
                f"{_source(self.plan, control.source_line)}"
            ),
        }


def _control_type(control: Control) -> str:
    if not control.proportional:
        return "Control"
    return "Proportional" if control.slot == ON_ITS_OWN else "SlotProportional"


def _sum_signal(plan: Plan, tables: _Tables) -> dict[str, Any] | None:
    described = plan.sum_signal
    if described is None:
        return None
    used = [pair for pair in enumerate(described.channels) if pair[1] != NOTHING_THERE]
    return {
        "input": len(plan.inputs) - 1,
        "code": described.code,
        "places": len(described.channels),
        "gap": half_us(described.gap_half_us),
        "valid_low": half_us(described.valid_half_us[0]),
        "valid_high": half_us(described.valid_half_us[1]),
        "source": f"{described.pin}, {_source(plan, described.source_line)}",
        "places_due": [
            {
                "place": place,
                "number": number,
                "next": number + 1 if number < len(used) else 0,
                **tables.heard_by(index),
            }
            for number, (place, index) in enumerate(used, 1)
        ],
    }


def _as_written(parts: Iterable[Any]) -> list[Any]:
    """In the order of the ship file, which is how its owner thinks of them."""
    return sorted(parts, key=lambda part: part.source_line)


def _source(plan: Plan, line: int) -> str:
    return f"{plan.source}:{line}"


def _asks(plan: Plan) -> dict[str, Any]:
    """The positions and values that functions can answer to."""
    controls = _as_written(plan.controls)
    return {
        "asks": [
            {
                "code": f"{control.code}_{position.code}",
                "control": control.code,
                "position": index,
                "rest": control.rest,
            }
            for control in controls
            for index, position in enumerate(control.positions)
            if index != control.rest
        ],
        "travels": [
            {
                "code": f"{control.code}_value",
                "control": control.code,
                "low": half_us(control.ends_half_us[0]),
                "high": half_us(control.ends_half_us[1]),
            }
            for control in controls
            if control.proportional
        ],
    }


def _pins(plan: Plan) -> list[dict[str, str]]:
    in_sum = plan.sum_signal.channels if plan.sum_signal is not None else ()
    rows = [
        (channel.source_line, channel.pin, f"channel {channel.name}")
        for index, channel in enumerate(plan.channels)
        if index not in in_sum
    ]
    if plan.sum_signal is not None:
        names = ["-" if i == NOTHING_THERE else plan.channels[i].name for i in in_sum]
        carried = f"{SUM_SIGNAL}: {', '.join(names)}"
        rows.append((plan.sum_signal.source_line, plan.sum_signal.pin, carried))
    rows += [
        (register.source_line, pin, f"{register.name}, shift register, {role}")
        for register in plan.registers
        for role in ("data", "clock", "latch", "blank")
        if (pin := getattr(register, role))
    ]
    rows += [
        (sensor.source_line, sensor.pin, f"sensor {sensor.name}, {_reads(sensor)}")
        for sensor in plan.sensors
    ]
    rows += [
        (line.source_line, line.pin, f"{line.name}, on is {'low' if line.active_low else 'high'}")
        for line in plan.lines
    ]
    rows += [
        (servo.source_line, servo.pin, f"{servo.name}, servo by {servo.unit}")
        for servo in plan.servos
    ]
    rows += [
        (light.source_line, light.pin, f"{light.name}, dimmer by {light.unit}")
        for light in plan.lights
    ]
    if plan.bench is not None and plan.bench.jumper:
        what = "bench jumper, to ground, pulled up"
        rows.append((plan.bench.source_line, plan.bench.jumper, what))
    rows.sort(key=lambda row: (row[0], _by_number(row[1]), row[2]))
    return [{"pin": pin, "what": what} for _, pin, what in rows]


def _by_number(pin: str) -> list[tuple[int, str]]:
    """Sorts D10 behind D9, and shelf 10 behind shelf 9."""
    return [(int(part or 0), text) for text, part in re.findall(r"(\D*)(\d*)", pin)]


def _reads(sensor: Sensor) -> str:
    if isinstance(sensor, AnalogueSensor):
        return "a voltage"
    return f"closed is {'low, pulled up' if sensor.active_low else 'high'}"


def _table(plan: Plan) -> list[str]:
    """The functions, one aligned line each; the first row is the heading."""
    rows = []
    for function in _as_written(plan.functions):
        cells = function.cells(plan)
        columns = (cells.asked_by, cells.limits, cells.drives, cells.on_loss)
        remarks = filter(None, (cells.remark, gate_remark(plan, function)))
        comment = "  ".join(filter(None, (_source(plan, function.source_line), "; ".join(remarks))))
        rows.append(
            [
                f"constexpr {function.type_name}",
                function.code,
                "{",
                *_arguments(columns),
                "};",
                f"// {comment}",
            ]
        )
    heading = [
        "//",
        "",
        "",
        "asked for by",
        "limits and states",
        "drives",
        "if the signal goes",
        "",
        "",
    ]
    return aligned([heading, *rows])


def _arguments(columns: Sequence[tuple[str, ...]]) -> list[str]:
    """Each column's expressions, with a comma behind all but the last in the row."""
    last = max(index for index, column in enumerate(columns) if column)
    return [
        ", ".join(column) + ("," if column and index != last else "")
        for index, column in enumerate(columns)
    ]
