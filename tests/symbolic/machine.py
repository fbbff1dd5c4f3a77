"""Executes a function for all numbers at once.

Where ways meet again their memories are merged, so that the work grows with the length of the text
and not with the number of ways through it. A block waits until all blocks before it have run; a
loop goes round until the solver says that no number takes it round again.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import z3

from tests.symbolic import memory as mem
from tests.symbolic.ir import Function, Instruction, Module, split
from tests.symbolic.values import (
    NULL,
    POINTER_BITS,
    Pointer,
    Truth,
    any_of,
    binary,
    both,
    compared,
    either,
    narrowed,
    negated,
    signed,
    term,
    truth,
    widened,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

MOST_ROUNDS = 600
"""No loop of the logic goes round more often."""

ASKED_EVERY = 8
"""In so many rounds of a loop the solver is asked once whether it goes on: a round too many costs
less."""

TRAPS = {
    0: "an addition overflows",
    1: "an impossible place is reached",
    3: "a division by zero, or one that overflows",
    7: "a conversion loses something",
    10: "a truth is neither 0 nor 1",
    11: "a function ends without a value",
    12: "a multiplication overflows",
    13: "a negation overflows",
    18: "an index is out of range",
    20: "a shift is out of range",
    21: "a subtraction overflows",
}
"""What the number of a trap says (clang's CodeGenFunction.h, LIST_SANITIZER_CHECKS, version 16)."""


@dataclass(frozen=True)
class Obligation:
    """What must never be: `bad` while `path` holds."""

    what: str
    place: tuple[str, int]
    path: tuple[Truth, ...]
    bad: Truth


@dataclass(frozen=True, slots=True)
class Named:
    """A function, as a value."""

    name: str


@dataclass
class State:
    """One way through the function so far."""

    path: tuple[Truth, ...]
    objects: dict[int, Any]
    values: dict[str, Any] = field(default_factory=dict)

    def copy(self) -> State:
        return State(self.path, dict(self.objects), dict(self.values))


class UnsupportedError(Exception):
    """The text has something that the machine does not know."""


class Machine:
    """Executes functions of one module, and gathers what must never be."""

    def __init__(self, module: Module, instead: Mapping[str, str] | None = None) -> None:
        """`instead`: what is run in place of which function, a promise about it that is proved
        apart."""
        self.module = module
        self.instead = instead or {}
        self.obligations: list[Obligation] = []
        self._objects = 0
        self._names: dict[str, int] = {}
        self._sizes: dict[str, int] = {}
        self._debug = 0
        self._rules: set[tuple[int, str]] = set()
        self.known_of_tables: list[Truth] = []

    # Types: nothing is padded on the chip

    def size(self, kind: str) -> int:
        """In bytes."""
        if kind not in self._sizes:
            self._sizes[kind] = self._size(kind)
        return self._sizes[kind]

    def _size(self, kind: str) -> int:
        if kind.startswith("i"):
            return max(1, int(kind[1:]) // 8)
        if kind.startswith("ptr"):
            return POINTER_BITS // 8
        if kind.startswith("["):
            count, _, element = kind[1:-1].partition(" x ")
            return int(count) * self.size(element)
        return sum(self.size(member) for member in self.members(kind))

    def members(self, kind: str) -> list[str]:
        """Of a structure."""
        if kind.startswith("%"):
            kind = self.module.types[kind[1:].strip('"')]
        if not kind.startswith("{"):
            raise UnsupportedError(kind)
        return split(kind[1:-1])

    # Objects

    def new_object(self, state: State, content: Any) -> Pointer:
        """A new object, and where it is."""
        self._objects += 1
        state.objects[self._objects] = content
        return Pointer(((True, self._objects, 0),))

    def must(self, state: State, what: str, fine: Truth) -> None:
        """Notes an obligation."""
        if fine is not True:
            place = self.module.place(self._debug)
            self.obligations.append(Obligation(what, place, state.path, negated(fine)))

    def load(self, state: State, kind: str, pointer: Pointer) -> Any:
        """A value of this type."""
        if kind.startswith(("%", "{")):
            out, offset = [], 0
            for member in self.members(kind):
                out.append(self.load(state, member, moved(pointer, offset)))
                offset += self.size(member)
            return tuple(out)
        if kind.startswith("["):
            count, _, element = kind[1:-1].partition(" x ")
            places = range(int(count))
            return tuple(
                self.load(state, element, moved(pointer, at * self.size(element))) for at in places
            )
        size = self.size(kind)
        value: Any = None
        for guard, number, offset in reversed(pointer.ways):
            content = state.objects.get(number)
            if content is None:
                self.must(state, "nothing is pointed to", negated(guard))
                continue
            if isinstance(content, mem.Table):
                whole = binary("mul", content.rows, content.row_bytes, POINTER_BITS)
                found = mem.row_of(content, offset, size)
            else:
                whole = len(content)
                found = None
            inside = mem.is_inside(offset, size, whole)
            self.must(state, "reads outside of an object", any_of((negated(guard), inside)))
            if found is None:
                outside = NULL if kind == "ptr" else mem.anything(8 * size)
                found = mem.looked_up(content, offset, size) if inside is not False else outside
            value = found if value is None else either(guard, found, value, 8 * size)
        if value is None:
            value = NULL if kind == "ptr" else mem.anything(8 * size)
        if kind == "ptr" and not isinstance(value, Pointer):
            raise UnsupportedError("a pointer made of a number")
        return narrowed(value, 1) if kind == "i1" else value

    def store(self, state: State, kind: str, value: Any, pointer: Pointer) -> None:
        """Puts a value there."""
        if kind.startswith(("%", "{", "[")):
            if kind.startswith("["):
                count, _, element = kind[1:-1].partition(" x ")
                members = [element] * int(count)
            else:
                members = self.members(kind)
            offset = 0
            for member, part in zip(members, value, strict=True):
                self.store(state, member, part, moved(pointer, offset))
                offset += self.size(member)
            return
        size = self.size(kind)
        if kind == "i1":
            value = widened(value, 1, 8)
        for guard, number, offset in pointer.ways:
            content = state.objects.get(number)
            if content is None or isinstance(content, mem.Table):
                self.must(state, "writes where nothing may be written", negated(guard))
                continue
            inside = mem.is_inside(offset, size, len(content))
            self.must(state, "writes outside of an object", any_of((negated(guard), inside)))
            if inside is not False:
                state.objects[number] = mem.with_stored(content, offset, value, size, guard)

    # Operands

    def operand(self, state: State, kind: str, text: str) -> Any:
        """A value as an instruction names it."""
        if text.startswith("%"):
            value = state.values[text[1:].strip('"')]
            if value is None:
                raise UnsupportedError(f"{text} of two rounds of a loop")
            return value
        if text in ("true", "false"):
            return text == "true"
        if text in ("null", "zeroinitializer", "undef", "poison"):
            return self._blank(kind, known=text in ("null", "zeroinitializer"))
        if text.startswith("@"):
            name = text[1:].strip('"')
            return Named(name) if name in self.module.functions else self._global(state, name)
        if re.fullmatch(r"-?\d+", text):
            return int(text) & ((1 << int(kind[1:])) - 1)
        if text.startswith("{"):
            parts = [self._typed(part) for part in split(text[1:-1])]
            return tuple(self.operand(state, k, v) for k, v in parts)
        if text.startswith("["):
            parts = [self._typed(part) for part in split(text[1:-1])]
            return tuple(self.operand(state, k, v) for k, v in parts)
        if text.startswith('c"'):
            return tuple(_characters(text[2:-1]))
        if text.startswith("getelementptr"):
            inner = text[text.index("(") + 1 : -1]
            return self._element(state, inner)
        raise UnsupportedError(f"{kind} {text}")

    def _blank(self, kind: str, *, known: bool) -> Any:
        if kind.startswith("ptr"):
            return NULL
        if kind.startswith("["):
            count, _, element = kind[1:-1].partition(" x ")
            return tuple(self._blank(element, known=known) for _ in range(int(count)))
        if not kind.startswith("i"):
            return tuple(self._blank(member, known=known) for member in self.members(kind))
        if kind == "i1":
            return False
        return 0 if known else mem.anything(int(kind[1:]))

    def _typed(self, text: str) -> tuple[str, str]:
        """Type and name, attributes left out."""
        match = re.match(
            r'(\[.*?\](?=\s|$)|\{.*?\}(?=\s|$)|%"[^"]+"|%[\w.]+|i\d+|ptr|void)\s*(.*)', text
        )
        if match is None:
            raise UnsupportedError(text)
        kind, rest = match[1], match[2]
        rest = re.sub(r"^addrspace\(\d+\)\s*", "", rest)
        rest = re.sub(
            r"\b(noundef|nonnull|zeroext|signext|noalias|nocapture|readonly|immarg|captures\(none\)"
            r"|align \d+|dereferenceable\(\d+\)|sret\([^)]*\)|byval\([^)]*\)|inreg)\s+",
            "",
            rest,
        )
        return kind, rest.strip()

    def _global(self, state: State, name: str) -> Any:
        """Where a global is: made when it is first asked for, as it begins."""
        number = self._names.get(name)
        if number is None or number not in state.objects:
            text = self.module.globals.get(name)
            if text is None:
                raise UnsupportedError(f"@{name}")
            text = re.sub(r"^.*?\b(global|constant)\s+", "", text)
            text = re.sub(r", (comdat|section|align)\b.*$", "", text)
            text = re.sub(r", comdat.*$|, align \d+.*$|, !dbg.*$", "", text)
            kind, value = self._typed(text)
            self._objects += 1
            number = self._names.setdefault(name, self._objects)
            place = Pointer(((True, number, 0),))
            state.objects[number] = [None] * self.size(kind)
            self.store(state, kind, self.operand(state, kind, value), place)
        return Pointer(((True, number, 0),))

    # Running

    def call(self, function: Function, arguments: Sequence[Any], state: State) -> tuple[Any, State]:
        """Runs a function; what it gives, and the one state behind all of its ends."""
        kept, state = state.values, state.copy()
        state.values = {
            name: value for (_, name), value in zip(function.parameters, arguments, strict=True)
        }
        waiting: dict[str, list[State]] = {function.entry: [state]}
        rounds: dict[str, int] = {}
        ends: list[tuple[Any, int, State]] = []
        before = set(state.objects)
        while waiting:
            name = min(waiting, key=function.rank.__getitem__)
            here = self._merge(waiting.pop(name))
            rounds[name] = rounds.get(name, 0) + 1
            if rounds[name] > MOST_ROUNDS:
                raise UnsupportedError(f"no end of a loop in {function.name}")
            self._block(function, name, here, waiting, ends, asks=rounds[name] % ASKED_EVERY == 0)
        if not ends:
            raise UnsupportedError(f"{function.name} never ends")
        value, bits, state = ends[0]
        for other, bits_, one in ends[1:]:
            bits = bits_
            _, _, ours = _remainder(state.path, one.path)
            value = either(both(ours), value, other, bits) if value is not None else None
            state = self._merge([state, one])
        escaping = self._names.values()
        state.objects = {
            n: c
            for n, c in state.objects.items()
            if n in before or n in escaping or isinstance(c, mem.Table)
        }
        state.values = kept
        return value, state

    def _merge(self, states: list[State]) -> State:
        out = states[0]
        for other in states[1:]:
            common, theirs, ours = _remainder(out.path, other.path)
            guard = both(ours)
            objects = dict(other.objects)
            for number, content in out.objects.items():
                there = objects.get(number)
                if there is None or there is content or isinstance(content, mem.Table):
                    objects[number] = content
                else:
                    objects[number] = mem.merged(guard, content, there)
            values = {**other.values, **out.values}
            for name, value in other.values.items():
                mine = out.values.get(name, value)
                if not _is_same(mine, value):
                    values[name] = _merged_value(guard, mine, value)
            out = State(_joined_path(common, ours, theirs), objects, values)
        return out

    def _is_possible(self, path: Sequence[Truth]) -> bool:
        solver = z3.Solver()
        solver.add(*(truth(one) for one in path))
        return bool(solver.check() != z3.unsat)

    def _block(
        self,
        function: Function,
        name: str,
        state: State,
        waiting: dict[str, list[State]],
        ends: list[tuple[Any, int, State]],
        *,
        asks: bool,
    ) -> None:
        def go(target: str, state: State) -> None:
            incoming: dict[str, Any] = {}
            for one in function.blocks[target]:
                if one.opcode != "phi":
                    break
                kind, rest = self._typed(one.text)
                for pair in split(rest):
                    value, _, label = pair[1:-1].rpartition(",")
                    if label.strip()[1:].strip('"') == name:
                        incoming[one.result] = self.operand(state, kind, value.strip())
            state.values.update(incoming)
            waiting.setdefault(target, []).append(state)

        for one in function.blocks[name]:
            self._debug = one.debug or self._debug
            if one.opcode == "phi":
                continue
            if one.opcode == "br":
                self._branch(state, one, asks, go)
                return
            if one.opcode == "switch":
                self._switch(state, one, go)
                return
            if one.opcode == "ret":
                kind, text = self._typed(one.text) if one.text != "void" else ("void", "")
                value = self.operand(state, kind, text) if kind != "void" else None
                ends.append((value, self._bits(kind), state))
                return
            if one.opcode == "unreachable":
                return
            self._step(state, one)

    def _bits(self, kind: str) -> Any:
        if kind.startswith("i"):
            return int(kind[1:])
        if kind.startswith(("%", "{")):
            return tuple(self._bits(member) for member in self.members(kind))
        return POINTER_BITS

    def _branch(self, state: State, one: Instruction, asks: bool, go: Any) -> None:
        parts = split(one.text)
        labels = [
            re.sub(r"^label %", "", part).strip('"') for part in parts[-2:] if "label" in part
        ]
        if len(parts) == 1:
            go(labels[0], state)
            return
        condition = self.operand(state, "i1", self._typed(parts[0])[1])
        for side, label in zip((condition, negated(condition)), labels, strict=True):
            if side is False:
                continue
            way = state.copy()
            if side is not True:
                way.path = (*state.path, side)
                if asks and not self._is_possible(way.path):
                    continue
            go(label, way)

    def _switch(self, state: State, one: Instruction, go: Any) -> None:
        head, _, cases = one.text.partition("[")
        value_text, default = split(head)
        kind, name = self._typed(value_text)
        value = self.operand(state, kind, name)
        found: list[Truth] = []
        for number, label in re.findall(r'i\d+ (-?\d+), label %("[^"]+"|[-\w.$]+)', cases):
            here = compared("eq", value, self.operand(state, kind, number), int(kind[1:]))
            found.append(here)
            if here is not False:
                way = state.copy()
                way.path = (*state.path, here) if here is not True else state.path
                go(label.strip('"'), way)
        rest = negated(any_of(found))
        if rest is not False:
            state.path = (*state.path, rest) if rest is not True else state.path
            go(re.sub(r"^label %", "", default.strip()).strip('"'), state)

    # Instructions

    def _step(self, state: State, one: Instruction) -> None:
        handler = getattr(self, f"_do_{one.opcode}", None)
        if handler is not None:
            result = handler(state, one)
        elif one.opcode in _ARITHMETIC:
            result = self._arithmetic(state, one)
        else:
            raise UnsupportedError(f"{one.opcode} {one.text}")
        if one.result:
            state.values[one.result] = result

    def _arithmetic(self, state: State, one: Instruction) -> Any:
        text = re.sub(r"^(nuw |nsw |exact )*", "", one.text)
        left, right = split(text)
        kind, name = self._typed(left)
        a, b = self.operand(state, kind, name), self.operand(state, kind, right)
        if kind == "i1":
            if one.opcode == "and":
                return both((a, b))
            if one.opcode == "or":
                return any_of((a, b))
            if one.opcode == "xor":
                return negated(a) if b is True else z3.Xor(truth(a), truth(b))
            raise UnsupportedError(one.text)
        return binary(one.opcode, a, b, int(kind[1:]))

    def _do_alloca(self, state: State, one: Instruction) -> Pointer:
        return self.new_object(state, [None] * self.size(self._typed(split(one.text)[0])[0]))

    def _do_load(self, state: State, one: Instruction) -> Any:
        kind, place, *_ = split(one.text)
        return self.load(state, kind, self.operand(state, "ptr", self._typed(place)[1]))

    def _do_store(self, state: State, one: Instruction) -> None:
        value, place, *_ = split(one.text)
        kind, name = self._typed(value)
        pointer = self.operand(state, "ptr", self._typed(place)[1])
        self.store(state, kind, self.operand(state, kind, name), pointer)

    def _do_getelementptr(self, state: State, one: Instruction) -> Pointer:
        return self._element(state, re.sub(r"^inbounds ", "", one.text))

    def _element(self, state: State, text: str) -> Pointer:
        kind, base, *indices = split(text)
        pointer = self.operand(state, "ptr", self._typed(base)[1])
        offset: Any = 0
        for level, index in enumerate(indices):
            index_kind, name = self._typed(index)
            number = self.operand(state, index_kind, name)
            if level == 0:
                self._apply_rules(state, pointer, number, self.size(kind))
                offset = binary(
                    "mul", self._as_offset(number, index_kind), self.size(kind), POINTER_BITS
                )
            elif kind.startswith("["):
                _, _, kind = kind[1:-1].partition(" x ")
                step = binary(
                    "mul", self._as_offset(number, index_kind), self.size(kind), POINTER_BITS
                )
                offset = binary("add", offset, step, POINTER_BITS)
            else:
                members = self.members(kind)
                before = sum(self.size(member) for member in members[:number])
                offset = binary("add", offset, before, POINTER_BITS)
                kind = members[number]
        return moved(pointer, offset)

    def _as_offset(self, number: Any, kind: str) -> Any:
        bits = int(kind[1:])
        if isinstance(number, int):
            return signed(number, bits) & 0xFFFF
        if bits > POINTER_BITS:
            return z3.Extract(POINTER_BITS - 1, 0, number)
        return number if bits == POINTER_BITS else z3.SignExt(POINTER_BITS - bits, number)

    def _apply_rules(self, state: State, pointer: Pointer, index: Any, size: int) -> None:
        """What is known of the row of a table that is about to be looked at."""
        for _, number, offset in pointer.ways:
            table = state.objects.get(number)
            if not isinstance(table, mem.Table) or not table.rule or size != table.row_bytes:
                continue
            if not isinstance(offset, int) or offset != 0:
                continue
            key = (number, str(index) if isinstance(index, int) else f"e{index.get_id()}")
            if key in self._rules:
                continue
            self._rules.add(key)
            at = self._as_offset(index, "i16")
            row = Pointer(((True, number, binary("mul", at, size, POINTER_BITS)),))
            rule = self.module.functions[table.rule]
            asked = len(self.obligations)
            outside = state.copy()
            result, _ = self.call(rule, [row], outside)
            del self.obligations[asked:]  # the row is looked at only where it is one
            exists = compared("ult", at, table.rows, POINTER_BITS)
            self.known_of_tables.append(any_of((negated(exists), result)))

    def _do_icmp(self, state: State, one: Instruction) -> Truth:
        predicate, _, rest = one.text.partition(" ")
        left, right = split(rest)
        kind, name = self._typed(left)
        a, b = self.operand(state, kind, name), self.operand(state, kind, right)
        if kind == "ptr":
            if b != NULL:
                raise UnsupportedError(one.text)
            none = any_of(guard for guard, number, _ in a.ways if number == 0)
            return none if predicate == "eq" else negated(none)
        if kind == "i1":
            same = truth(a) == truth(b)
            return same if predicate == "eq" else negated(same)
        return compared(predicate, a, b, int(kind[1:]))

    def _convert(self, state: State, one: Instruction) -> tuple[Any, int, int]:
        source, _, target = one.text.rpartition(" to ")
        kind, name = self._typed(source)
        return self.operand(state, kind, name), int(kind[1:]), int(target[1:])

    def _do_zext(self, state: State, one: Instruction) -> Any:
        return widened(*self._convert(state, one))

    def _do_sext(self, state: State, one: Instruction) -> Any:
        return widened(*self._convert(state, one), sign=True)

    def _do_trunc(self, state: State, one: Instruction) -> Any:
        value, bits, to_bits = self._convert(state, one)
        short = narrowed(value, to_bits)
        if to_bits > 1:
            same = compared("eq", widened(short, to_bits, bits), value, bits)
            same_signed = compared("eq", widened(short, to_bits, bits, sign=True), value, bits)
            self.must(state, "a narrower type loses something", any_of((same, same_signed)))
        return short

    def _do_select(self, state: State, one: Instruction) -> Any:
        condition, *sides = (self._typed(part) for part in split(one.text))
        kind = sides[0][0]
        a, b = (self.operand(state, kind, name) for _, name in sides)
        return either(self.operand(state, "i1", condition[1]), a, b, self._bits(kind))

    def _do_extractvalue(self, state: State, one: Instruction) -> Any:
        value, index = split(one.text)
        kind, name = self._typed(value)
        return self.operand(state, kind, name)[int(index)]

    def _do_insertvalue(self, state: State, one: Instruction) -> Any:
        whole, part, index = split(one.text)
        kind, name = self._typed(whole)
        part_kind, part_name = self._typed(part)
        values = list(self.operand(state, kind, name))
        values[int(index)] = self.operand(state, part_kind, part_name)
        return tuple(values)

    def _do_call(self, state: State, one: Instruction) -> Any:
        match = re.search(r'@("[^"]+"|[\w.$]+)\((.*)\)', one.text)
        if match is None:
            raise UnsupportedError(one.text)
        name = match[1].strip('"')
        typed = [self._typed(part) for part in split(match[2])]
        if name.startswith(("llvm.dbg", "llvm.lifetime")):
            return None
        arguments = [self.operand(state, kind, text) for kind, text in typed]
        special = getattr(self, f"_call_{name.replace('.', '_')}", None)
        if special is not None:
            return special(state, *arguments)
        if name.startswith("llvm."):
            return self._intrinsic(state, name, arguments)
        name = self.instead.get(name, name)
        if name not in self.module.functions:
            raise UnsupportedError(name)
        debug = self._debug
        value, after = self.call(self.module.functions[name], arguments, state)
        state.path, state.objects = after.path, after.objects
        self._debug = debug
        return value

    def _intrinsic(self, state: State, name: str, arguments: list[Any]) -> Any:
        match = re.fullmatch(r"llvm\.([su])(add|sub|mul)\.with\.overflow\.i(\d+)", name)
        if match is not None:
            a, b = arguments
            return _overflowing(match[2], a, b, int(match[3]), sign=match[1] == "s")
        if name == "llvm.ubsantrap":
            self.must(state, TRAPS.get(arguments[0], f"trap {arguments[0]}"), False)
            state.path = (*state.path, False)
            return None
        if name.startswith(("llvm.memcpy", "llvm.memmove")):
            to, source, size, _ = arguments
            kind = f"[{size} x i8]"
            if size:
                self._copy(state, to, source, size, kind)
            return None
        if name.startswith("llvm.memset"):
            to, value, size, _ = arguments
            self.store(state, f"[{size} x i8]", (value,) * size, to)
            return None
        if name.startswith("llvm.trap"):
            self.must(state, "a trap", False)
            return None
        raise UnsupportedError(name)

    def _copy(self, state: State, to: Pointer, source: Pointer, size: int, kind: str) -> None:
        """Byte by byte; whole objects as they are, so that pointers stay pointers."""
        if not all(isinstance(way[2], int) for way in (*to.ways, *source.ways)):
            self.store(state, kind, self.load(state, kind, source), to)
            return
        copied: mem.Cells = [None] * size
        for guard, number, start in source.ways:
            content = state.objects.get(number)
            if isinstance(content, mem.Table):
                self.store(state, kind, self.load(state, kind, source), to)
                return
            cells = content[start : start + size] if content is not None else []
            self.must(
                state, "reads outside of an object", either(guard, len(cells) == size, True, 1)
            )
            if len(cells) == size:
                copied = cells if guard is True else mem.merged(guard, cells, copied)
        for guard, number, at in to.ways:
            into = state.objects.get(number)
            if not isinstance(into, list) or at + size > len(into):
                self.must(state, "writes outside of an object", negated(guard))
                continue
            changed = [*into[:at], *copied, *into[at + size :]]
            state.objects[number] = changed if guard is True else mem.merged(guard, changed, into)

    # What subjects ask of the machine

    def _call_any8(self, _: State) -> Any:
        return mem.anything(8)

    def _call_any16(self, _: State) -> Any:
        return mem.anything(16)

    def _call_any32(self, _: State) -> Any:
        return mem.anything(32)

    def _call_assume(self, state: State, fact: Any) -> None:
        if fact is not True:
            state.path = (*state.path, fact)

    def _call_require(self, state: State, fact: Any) -> None:
        self.must(state, "a promise is broken", fact)

    def _call_any_bytes(self, state: State, place: Pointer, size: int) -> None:
        ((_, number, offset),) = place.ways
        cells = state.objects[number]
        new = [mem.Piece(mem.anything(8), 0, 1) for _ in range(size)]
        state.objects[number] = [*cells[:offset], *new, *cells[offset + size :]]

    def _call_any_table(self, state: State, rows: Any, row_bytes: int, rule: Named) -> Pointer:
        array = z3.Array(f"table{self._objects}", z3.BitVecSort(16), z3.BitVecSort(8))
        return self.new_object(state, mem.Table(array, rows, row_bytes, rule.name))


_ARITHMETIC = frozenset(
    ("add", "sub", "mul", "and", "or", "xor", "shl", "lshr", "ashr", "udiv", "urem", "sdiv", "srem")
)


def _overflowing(what: str, a: Any, b: Any, bits: int, *, sign: bool) -> tuple[Any, Truth]:
    """The result, and whether it is not the exact one."""
    wide = 2 * bits if what == "mul" else bits + 2
    result = binary(what, a, b, bits)
    exact = binary(what, widened(a, bits, wide, sign=sign), widened(b, bits, wide, sign=sign), wide)
    return result, negated(compared("eq", widened(result, bits, wide, sign=sign), exact, wide))


def moved(pointer: Pointer, by: Any) -> Pointer:
    """A pointer so many bytes on."""
    if isinstance(by, int) and by == 0:
        return pointer
    return Pointer(
        tuple(
            (guard, number, binary("add", offset, by, POINTER_BITS))
            for guard, number, offset in pointer.ways
        )
    )


Path = tuple[Truth, ...]


def _remainder(a: Path, b: Path) -> tuple[Path, Path, Path]:
    """What two ways have in common, what only the second has, what only the first."""
    same = 0
    while same < min(len(a), len(b)) and a[same] is b[same]:
        same += 1
    return a[:same], b[same:], a[same:]


def _joined_path(
    common: tuple[Truth, ...], ours: tuple[Truth, ...], theirs: tuple[Truth, ...]
) -> tuple[Truth, ...]:
    if len(ours) == len(theirs) == 1 and (
        truth(ours[0]).eq(truth(negated(theirs[0]))) or truth(theirs[0]).eq(truth(negated(ours[0])))
    ):
        return common
    either_way = any_of((both(ours), both(theirs)))
    return common if either_way is True else (*common, either_way)


def _is_same(a: Any, b: Any) -> bool:
    if a is b:
        return True
    if isinstance(a, z3.ExprRef) or isinstance(b, z3.ExprRef):
        return isinstance(a, z3.ExprRef) and isinstance(b, z3.ExprRef) and bool(a.eq(b))
    return isinstance(a, int) and isinstance(b, int) and a == b


def _merged_value(guard: Truth, a: Any, b: Any) -> Any:
    """Of two rounds of a loop. Known numbers do not tell their width: whoever asks for one is
    refused."""
    if isinstance(a, Pointer | tuple):
        return either(guard, a, b, POINTER_BITS) if isinstance(a, Pointer) else None
    if isinstance(a, bool | z3.BoolRef):
        return either(guard, a, b, 1)
    sized = [one for one in (a, b) if isinstance(one, z3.ExprRef)]
    return either(guard, a, b, sized[0].size()) if sized else None


def _characters(text: str) -> list[int]:
    return [
        int(found[1:], 16) if len(found) == 3 else ord(found[-1])
        for found in re.findall(r"\\[0-9A-Fa-f]{2}|\\\\|.", text)
    ]


__all__ = ["Machine", "Obligation", "State", "UnsupportedError", "term"]
