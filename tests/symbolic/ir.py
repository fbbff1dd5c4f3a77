"""Reads what clang wrote: functions, blocks and instructions as text split into its parts.

Only what clang 16 writes for the sketch's logic without optimisation; anything else is refused
loudly.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

_FUNCTION = re.compile(
    r'define .*?@("[^"]+"|[\w.$]+)\((.*)\) (?:(?:local_)?unnamed_addr )?addrspace\(1\).*'
)
_LABEL = re.compile(r'("[^"]+"|[-\w.$]+):')
_NAME = re.compile(r'%("[^"]+"|[-\w.$]+)')
_DEBUG = re.compile(r", !dbg !(\d+)")
_TYPE = re.compile(r'%("[^"]+"|[-\w.$]+) = type (.*)')
_GLOBAL = re.compile(r'@("[^"]+"|[\w.$]+) = (.*)')


@dataclass(frozen=True, slots=True)
class Instruction:
    """`result` is "" where there is none; `text` stands behind it, without attachments."""

    result: str
    opcode: str
    text: str
    debug: int


@dataclass
class Function:
    """Parameters in order, and blocks in the order of the text; `rank` is the order to run them
    in."""

    name: str
    parameters: list[tuple[str, str]]
    blocks: dict[str, list[Instruction]] = field(default_factory=dict)
    entry: str = ""
    rank: dict[str, int] = field(default_factory=dict)


@dataclass
class Module:
    """One subject. `places` are file and line by the number of a debug location."""

    functions: dict[str, Function]
    types: dict[str, str]
    globals: dict[str, str]
    metadata: dict[int, str]

    def place(self, debug: int) -> tuple[str, int]:
        """File and line of an instruction; ("", 0) where clang has none."""
        text = self.metadata.get(debug, "")
        line, scope = re.search(r"line: (\d+)", text), re.search(r"scope: !(\d+)", text)
        while scope is not None:
            text = self.metadata[int(scope[1])]
            file = re.search(r"file: !(\d+)", text)
            if file is not None:
                name = re.search(r'filename: "([^"]+)"', self.metadata[int(file[1])])
                return (name[1] if name else "", int(line[1]) if line else 0)
            scope = re.search(r"scope: !(\d+)", text)
        return "", 0


def split(text: str) -> list[str]:
    """What commas part, brackets kept together."""
    parts, depth, start = [], 0, 0
    for at, character in enumerate(text):
        if character in "([{<":
            depth += 1
        elif character in ")]}>":
            depth -= 1
        elif character == "," and depth == 0:
            parts.append(text[start:at].strip())
            start = at + 1
    last = text[start:].strip()
    return [*parts, last] if last else parts


def read(text: str) -> Module:
    """A module from its text."""
    module = Module({}, {}, {}, {})
    function: Function | None = None
    block: list[Instruction] = []
    lines = iter(text.splitlines())
    for raw in lines:
        line = raw.split(" ; preds")[0].split("  ; ")[0].rstrip()
        if line.startswith("!") and (match := re.match(r"!(\d+) = (.*)", line)):
            module.metadata[int(match[1])] = match[2]
        elif line.startswith("%") and (match := _TYPE.fullmatch(line)):
            module.types[match[1].strip('"')] = match[2]
        elif line.startswith("@") and (match := _GLOBAL.match(line)):
            module.globals[match[1].strip('"')] = match[2]
        elif line.startswith("define"):
            match = _FUNCTION.match(line)
            if match is None:
                raise ValueError(line)
            function = Function(match[1].strip('"'), _parameters(match[2]))
            module.functions[function.name] = function
        elif function is not None and line == "}":
            function.rank = _ranks(function)
            function = None
        elif function is not None and line and not line.startswith(" "):
            label = _LABEL.match(line)
            if label is None:
                raise ValueError(line)
            block = function.blocks.setdefault(label[1].strip('"'), [])
            function.entry = function.entry or label[1].strip('"')
        elif function is not None and line.strip():
            whole = line.strip()
            while whole.startswith("switch") and "]" not in whole:
                whole += " " + next(lines).strip()
            block.append(_instruction(whole))
    return module


def _parameters(text: str) -> list[tuple[str, str]]:
    """Type and name of each."""
    out = []
    for part in split(text):
        match = re.match(r'(\[.*?\]|\{.*?\}|%"[^"]+"|[%\w.:]+)', part)
        names = _NAME.findall(part)
        if match is None or not names:
            raise ValueError(text)
        out.append((match[1], names[-1].strip('"')))
    return out


def _instruction(line: str) -> Instruction:
    debug = _DEBUG.search(line)
    line = re.sub(r",? ![a-z][\w.]* ![\w{}]*", "", line)
    result = ""
    if line.startswith("%"):
        result, _, line = line.partition(" = ")
        result = result[1:].strip('"')
    opcode, _, rest = line.partition(" ")
    if opcode == "tail":
        opcode, _, rest = rest.partition(" ")
    return Instruction(result, opcode, rest, int(debug[1]) if debug else 0)


def targets(block: list[Instruction]) -> list[str]:
    """Where a block may go on."""
    last = block[-1]
    if last.opcode in ("br", "switch"):
        return [name.strip('"') for name in re.findall(r'label %("[^"]+"|[-\w.$]+)', last.text)]
    return []


def _ranks(function: Function) -> dict[str, int]:
    """Reverse post-order: a block stands behind all that lead to it, but for the ends of loops."""
    order: list[str] = []
    seen = {function.entry}
    stack = [(function.entry, iter(targets(function.blocks[function.entry])))]
    while stack:
        name, ways = stack[-1]
        for way in ways:
            if way not in seen:
                seen.add(way)
                stack.append((way, iter(targets(function.blocks[way]))))
                break
        else:
            order.append(name)
            stack.pop()
    return {name: rank for rank, name in enumerate(reversed(order))}
