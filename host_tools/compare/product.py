"""Some functions of two ships as one system: every tick of both, with what a hand makes them hear.

Channels, controls, sensors and functions are written exactly, by the encodings that proofs reason
about. What both ships have alike is reckoned once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from gen.plan import NO_POSITION
from gen.response import FRAME_TICKS
from host_tools.compare.hands import NEW, OLD, Hands
from host_tools.compare.observed import differ, shown
from host_tools.compare.power import back_again
from host_tools.compare.reach import Asker, Reach
from host_tools.compare.sameness import channel_meaning
from host_tools.prove.algebra import Columns
from host_tools.prove.encoding.behaviours import function_encoding
from host_tools.prove.encoding.channel import ChannelEncoding
from host_tools.prove.encoding.control import ControlEncoding
from host_tools.prove.encoding.function import Seen
from host_tools.prove.encoding.part import Flag, Memory
from host_tools.prove.encoding.sensors import StageEncoding, sensor_encoding
from host_tools.prove.encoding.ship import answer

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from host_tools.compare.hands import Setting
    from host_tools.compare.sameness import Sameness
    from host_tools.prove.encoding.part import Part

Key = tuple[int, str, int]
"""A part: of which ship, of what kind ("c", "k", "s", "g", "f"), its index there."""

State = dict[tuple[Key, str], Any]


class Mirrored:
    """A function of the new ship that is one of the old ship's: what that became, it is."""

    def __init__(self, states: Mapping[int, Any], old: int) -> None:
        self.states, self.old = states, old

    @property
    def gate(self) -> Mirrored:
        """It stands for its own gate."""
        return self

    both_is_stop = False

    def run(self, me: Any, index: int, see: Seen) -> None:
        """It becomes what the other did."""
        del me
        see.states[index] = self.states[self.old]


class Product:
    """Functions of the old ship and of the new one, with all that they depend on; `asked_about` is
    the one of both in which a difference counts."""

    def __init__(
        self,
        same: Sameness,
        reached: tuple[Reach, Reach],
        asked_about: tuple[int, int],
        a: Any = None,
    ) -> None:
        self.a = Columns() if a is None else a
        self.same = same
        self.reached = reached
        self.asked_about = asked_about
        self.hands = Hands(same, reached)
        self.askers: dict[Key, Asker] = {}
        self.sides = (same.old, same.new)
        self.parts: dict[Key, Part] = {}
        self.mirrors: dict[Key, Key] = {}
        self._before: dict[int, Any] = {}
        for side in (OLD, NEW):
            self._add_parts(side)

    def _add_parts(self, side: int) -> None:
        a, plan = self.a, self.sides[side].plan
        hands = self.hands
        for number, pair in enumerate(hands.channels):
            index = pair[side]
            if index is not None:
                self._add((side, "c", index), ChannelEncoding(a, plan.channels[index]))
                if side == NEW and self._channel_is_mirrored(number):
                    self._mirror((NEW, "c", index), (OLD, "c", _there(pair[OLD])))
        self._add_controls(side)
        for felt in hands.felt:
            index = felt.sensors[side]
            if index is not None:
                self._add((side, "s", index), sensor_encoding(a, plan.sensors[index]))
                if side == NEW and felt.sensors[OLD] in self.same.sensors:
                    self._mirror((NEW, "s", index), (OLD, "s", _there(felt.sensors[OLD])))
        self._add_functions(side)

    def _add_controls(self, side: int) -> None:
        plan, old_plan = self.sides[side].plan, self.same.old.plan
        for index in self.hands.controls[side]:
            control = plan.controls[index]
            self._add((side, "k", index), ControlEncoding(self.a, control))
            old = self.same.matching.old_controls.get(index) if side == NEW else None
            if old is None or old not in self.same.controls:
                continue
            heard_there = (NEW, "c", control.channel) in self.mirrors
            if heard_there and control.slot == old_plan.controls[old].slot:
                self._mirror((NEW, "k", index), (OLD, "k", old))

    def _add_functions(self, side: int) -> None:
        a, plan = self.a, self.sides[side].plan
        stages = {plan.functions[f].gate.stage for f in self.reached[side].exact}
        for index in sorted(one for one in stages if one is not None):
            self._add((side, "g", index), StageEncoding(a, plan.stages[index]))
        for index in sorted(self.reached[side].askers):
            encoding: Any = function_encoding(a, plan.functions[index], plan)
            self.askers[side, "f", index] = Asker(encoding)
        for index in sorted(self.reached[side].exact):
            self._add((side, "f", index), function_encoding(a, plan.functions[index], plan))
            old = self.same.matching.old_functions.get(index) if side == NEW else None
            if old is not None and self._function_is_mirrored(old, index):
                self._mirror((NEW, "f", index), (OLD, "f", old))

    def _add(self, key: Key, part: Part) -> None:
        self.parts[key] = part

    def _mirror(self, key: Key, of: Key) -> None:
        if of in self.parts:
            self.mirrors[key] = of
            del self.parts[key]

    def _channel_is_mirrored(self, number: int) -> bool:
        old, new = self.hands.channels[number]
        if old is None or new is None:
            return False
        for thumb in self.hands.thumbs:
            where, there = thumb.places
            mine = where is not None and where[0] == old
            theirs = there is not None and there[0] == new
            if mine != theirs or (where and there and mine and where[1] != there[1]):
                return False
        twice = [pair for pair in self.hands.channels if old == pair[OLD] or new == pair[NEW]]
        plans = self.same.old.plan, self.same.new.plan
        return len(twice) == 1 and (
            channel_meaning(plans[OLD], old) == channel_meaning(plans[NEW], new)
        )

    def _function_is_mirrored(self, old: int, new: int) -> bool:
        plan = self.same.new.plan
        function = plan.functions[new]
        return (
            old in self.same.functions
            and old in self.reached[OLD].exact
            and self.same.new.states[new] == tuple(range(len(function.states)))
            and not function.gate.both_is_stop
            and all((NEW, "k", control) in self.mirrors for control in function.controls)
        )

    # What is remembered

    def start(self) -> State:
        """Power-up, with nothing kept: one row."""
        whole = not isinstance(self.a, Columns)
        return {
            (key, name): one.start
            if whole
            else np.array([one.start], bool if isinstance(one, Flag) else np.int64)
            for key, part in self.parts.items()
            for name, one in part.variables().items()
        }

    def is_within_bounds(self, state: State) -> bool:
        """Whether every number is one that can be."""
        return all(
            isinstance(one, Flag)
            or bool((one.low <= state[key, name]).all() and (state[key, name] <= one.high).all())
            for key, part in self.parts.items()
            for name, one in part.variables().items()
        )

    def memories(self, state: State) -> dict[Key, Memory]:
        """Part by part, to be changed."""
        made: dict[Key, Memory] = {key: Memory() for key in self.parts}
        for (key, name), column in state.items():
            setattr(made[key], name, column)
        return made

    def flat(self, memories: Mapping[Key, Memory], like: State, rows: int) -> State:
        """The other way round."""
        return {
            (key, name): np.ascontiguousarray(
                np.broadcast_to(np.asarray(getattr(memories[key], name), column.dtype), rows)
            )
            for (key, name), column in like.items()
        }

    @property
    def keeps(self) -> bool:
        """Whether anything of it outlives the power."""
        return any(
            part.function.kept_bytes for part in self.parts.values() if hasattr(part, "function")
        )

    def after_power(self, state: State) -> State:
        """The power was off and is back."""
        rows = len(next(iter(state.values())))
        memories, start = self.memories(state), self.start()
        made = {name: np.repeat(column, rows) for name, column in start.items()}
        for key, part in self.parts.items():
            if key[1] == "f":
                for name, value in back_again(part, memories[key]).items():  # type: ignore[arg-type]
                    like = made[key, name]
                    made[key, name] = np.array(np.broadcast_to(np.asarray(value, like.dtype), rows))
        return made

    # A frame

    def frame(
        self, state: State, given: Mapping[tuple[str, int, int], Any], number: int, rows: int
    ) -> tuple[NDArray[np.int64], State]:
        """The frame of this number (of its period) with what is set in it: a column for each
        ("w", thumb, 0), ("lost", channel, 0) and ("r", sensor, side). Returns in which of its
        ticks the ships differ first (FRAME_TICKS: in none), and the states behind it."""
        memories = self.memories(state)
        first = np.full(rows, FRAME_TICKS)
        for tick in range(FRAME_TICKS):
            wrong = np.broadcast_to(self._tick(memories, given, number, tick), rows)
            first = np.where(wrong & (first == FRAME_TICKS), tick, first)
        for key, me in memories.items():
            if key[1] == "k":  # which other position was seen last counts only while it is counted
                me.candidate = np.where(me.count == 0, NO_POSITION, me.candidate)
        return first, self.flat(memories, state, rows)

    def along(self, path: Sequence[Sequence[Setting]]) -> Iterator[dict[str, Any]]:
        """What the functions and stages of both remember after each tick, from power-up, by names
        such as "o:f3.on" and "n:f4.on"; `path` has for each frame what is set in each row."""
        rows = len(path[0])
        memories = self.memories(self.start())
        known: dict[int, dict[tuple[str, int, int], Any]] = {}
        for number, settings in enumerate(path):
            if id(settings) not in known:
                known[id(settings)] = self.columns(settings)
            given = known[id(settings)]
            frame = number % self.hands.period_frames
            for tick in range(FRAME_TICKS):
                self._tick(memories, given, frame, tick)
                yield self._told(memories, rows)

    def columns(self, settings: Sequence[Setting]) -> dict[tuple[str, int, int], Any]:
        """What is set, as `frame` takes it."""
        hands = self.hands
        made: dict[tuple[str, int, int], Any] = {}
        for number in range(len(hands.thumbs)):
            made["w", number, 0] = np.array([one.widths[number] for one in settings], np.int64)
        for number in range(len(hands.channels)):
            made["lost", number, 0] = np.array([number in one.lost for one in settings], bool)
        for number in range(len(hands.felt)):
            for side in (OLD, NEW):
                values = [one.readings[number][side] for one in settings]
                made["r", number, side] = np.array(values, np.int64)
        if not isinstance(self.a, Columns):
            return {name: column.tolist()[0] for name, column in made.items()}
        return made

    def _told(self, memories: Mapping[Key, Memory], rows: int) -> dict[str, Any]:
        made: dict[str, Any] = {}
        every = [*self.parts, *self.mirrors]
        for key in every:
            side, kind, index = key
            if kind in ("f", "g"):
                for name, value in vars(memories[self._where(key)]).items():
                    made[f"{'on'[side]}:{kind}{index}.{name}"] = (
                        np.broadcast_to(np.asarray(value, np.int64), rows)
                        if isinstance(self.a, Columns)
                        else int(value)
                    )
        return made

    def _tick(
        self,
        memories: dict[Key, Memory],
        given: Mapping[tuple[str, int, int], Any],
        number: int,
        tick: int,
    ) -> Any:
        for key, part in self.parts.items():
            if key[1] == "c":
                part.grow(memories[key])  # type: ignore[attr-defined]
        for channel, pair in enumerate(self.hands.channels):
            if self.hands.turn(channel) == tick:
                for side in (OLD, NEW):
                    if (side, "c", pair[side]) in self.parts:
                        self._hear(memories, given, number, channel, side)
        seen = self._judged(memories, given)
        states: list[dict[int, Any]] = []
        for side in (OLD, NEW):
            states.append(self._answer(side, memories, seen[side], states))
        old, new = self.asked_about
        return differ(self.a, self._shown(OLD, old, memories), self._shown(NEW, new, memories))

    def _shown(self, side: int, index: int, memories: Mapping[Key, Memory]) -> dict[Any, Any]:
        key = (side, "f", index)
        return shown(self.sides[side], index, self.parts[key], memories[key])  # type: ignore[arg-type]

    def _hear(
        self,
        memories: dict[Key, Memory],
        given: Mapping[tuple[str, int, int], Any],
        number: int,
        channel: int,
        side: int,
    ) -> None:
        a = self.a
        index = self.hands.channels[channel][side]
        assert index is not None  # noqa: S101 - who calls has looked
        thumb = self.hands.said(channel, side, number)
        width: Any = self.hands.filler(channel, side, number)
        if thumb is not None:
            width = given["w", thumb, 0]
        encoding: Any = self.parts[side, "c", index]
        comes = a.no(given["lost", channel, 0])
        mine = memories[side, "c", index]
        changed = mine.copy()
        heard, widths = encoding.hear(changed, width)
        for name, before in vars(mine).items():
            setattr(mine, name, a.either(comes, getattr(changed, name), before))
        heard = a.both(comes, heard)
        for key, part in self.parts.items():
            if key[1] == "k" and self._where(self._channel_of(key)) == (side, "c", index):
                slot = self.sides[key[0]].plan.controls[key[2]].slot
                part.hear(memories[key], heard, widths[slot])  # type: ignore[attr-defined]

    def _judged(
        self, memories: dict[Key, Memory], given: Mapping[tuple[str, int, int], Any]
    ) -> tuple[dict[str, dict[int, Any]], dict[str, dict[int, Any]]]:
        """What functions look at, once controls, sensors and stages were judged."""
        seen: tuple[dict[str, dict[int, Any]], ...] = tuple(
            {"k": {}, "lost": {}, "s": {}, "g": {}} for _ in (OLD, NEW)
        )
        for key, part in self.parts.items():
            side, kind, index = key
            if kind == "k":
                where = self._where(self._channel_of(key))
                channel: Any = self.parts[where]
                alive = channel.alive(memories[where])
                part.judge(memories[key], alive, channel.lost(memories[where]))  # type: ignore[attr-defined]
        for number, felt in enumerate(self.hands.felt):
            for side in (OLD, NEW):
                place = felt.sensors[side]
                if place is not None and (side, "s", place) in self.parts:
                    encoding: Any = self.parts[side, "s", place]
                    encoding.feel(memories[side, "s", place], given["r", number, side])
        for side in (OLD, NEW):
            for index in self.hands.controls[side]:
                key = self._where((side, "k", index))
                seen[side]["k"][index] = memories[key]
                channel_index = self.sides[side].plan.controls[index].channel
                there = self._where((side, "c", channel_index))
                seen[side]["lost"][channel_index] = self.parts[there].lost(memories[there])  # type: ignore[attr-defined]
            for felt in self.hands.felt:
                sensor = felt.sensors[side]
                if sensor is not None:
                    seen[side]["s"][sensor] = memories[self._where((side, "s", sensor))].value
        for key, part in self.parts.items():
            side, kind, index = key
            if kind == "g":
                value = seen[side]["s"][part.stage.below.sensor]  # type: ignore[attr-defined]
                part.look(memories[key], value)  # type: ignore[attr-defined]
                seen[side]["g"][index] = memories[key].low
        return seen[OLD], seen[NEW]

    def _channel_of(self, control: Key) -> Key:
        return control[0], "c", self.sides[control[0]].plan.controls[control[2]].channel

    def _where(self, key: Key) -> Key:
        return self.mirrors.get(key, key)

    def _answer(
        self,
        side: int,
        memories: dict[Key, Memory],
        seen: Mapping[str, dict[int, Any]],
        before: list[dict[int, Any]],
    ) -> dict[int, Any]:
        parts: dict[int, Any] = {}
        mine: dict[int, Memory] = {}
        states: dict[int, Any] = {}
        for index in sorted(self.reached[side].every):
            key = (side, "f", index)
            of = self.mirrors.get(key)
            if key in self.askers:
                parts[index], mine[index] = self.askers[key], Memory()
            elif of is None:
                parts[index], mine[index] = self.parts[key], memories[key]
                states[index] = parts[index].state(memories[key])
            else:
                parts[index], mine[index] = Mirrored(before[OLD], of[2]), Memory()
                states[index] = self._before[of[2]]
        see = Seen(
            controls=seen["k"],
            lost=seen["lost"],
            sensors=seen["s"],
            stages=seen["g"],
            states=states,
            asked={},
        )
        if side == OLD:
            self._before = dict(states)
        answer(parts, mine, see)
        return see.states


def _there(index: int | None) -> int:
    """The index of what is known to be there."""
    if index is None:
        raise ValueError("only what is on both ships is reckoned once")
    return index
