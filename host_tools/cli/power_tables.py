"""The tables of `pinrail power`, from the records of the electrical sums."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.cli.text_table import text_table
from host_tools.electrical.figure import Refused, shown
from host_tools.electrical.fuses import KINDS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from host_tools.electrical.electrics import Branch, Connector, Contact, Electrics, Endurance
    from host_tools.electrical.figure import Figure

MOST_FOR = 40
"""How much of what a part is for fits in its row."""


def supplies(made: Electrics) -> Iterator[str]:
    """The tree of supplies."""
    branches = [branch for branch in made.branches if branch.of != "load"]
    depth: dict[str, int] = {}
    rows = []
    for branch in branches:
        depth[branch.name] = depth.get(branch.parent, -1) + 1
        taken = branch.taken.shown() if branch.of == "regulator" else ""
        rows.append(
            (
                "  " * depth[branch.name] + branch.name,
                shown(branch.voltage_v, "V"),
                branch.plain.shown(),
                branch.worst.shown(),
                _shown(branch.typical),
                _shown(branch.stalls),
                taken,
                _fuse(branch, made),
                branch.wire,
                _shown(branch.drop_share),
            )
        )
    columns = ("supply", ">volts", ">plain sum", ">worst", ">typical", ">one held fast", ">takes")
    return text_table(
        "Supplies: what hangs on each, added up plainly and as the rules allow it at once",
        (*columns, "fuse", "wire", ">drop"),
        rows,
    )


def circuits(made: Electrics) -> Iterator[str]:
    """Everything that hangs on the supplies."""
    lengths = _lengths(made)
    rows = [
        (
            branch.name,
            branch.parent,
            branch.worst.shown(),
            _shown(branch.typical),
            _fuse(branch, made),
            branch.wire,
            lengths.get(branch.name, ""),
            _shown(branch.drop_share),
        )
        for branch in made.branches
        if branch.of == "load"
    ]
    columns = ("circuit", "on", ">worst", ">typical", "fuse", "wire", ">one way", ">drop")
    return text_table("Circuits", columns, rows)


def fuses(made: Electrics) -> Iterator[str]:
    """Every fuse and what a motor that is held fast does to it."""
    rows = []
    for fuse in made.fuses:
        stalled, *more = fuse.blows_on_stall.split("; ")
        colour = KINDS[fuse.kind].colour(fuse.rating_a)
        rows.append(
            (
                fuse.number,
                fuse.branch,
                shown(fuse.rating_a, "A"),
                f"{fuse.kind} {colour}".rstrip(),
                "given" if fuse.given else "",
                stalled,
            )
        )
        rows += [("", "", "", "", "", one) for one in more]
    return text_table(
        "Fuses", ("fuse", "protects", ">rating", "kind", "chosen", "when its motor stalls"), rows
    )


def wires(made: Electrics) -> Iterator[str]:
    """Every wire."""
    rows = [
        (
            wire.number,
            wire.from_.text,
            wire.to.text,
            wire.size_name,
            wire.colour,
            f"{wire.length_m:g} m" if wire.length_m is not None else "",
            _shown(wire.current),
            _shown(wire.drop),
            wire.fuse,
        )
        for wire in made.wires
    ]
    columns = ("wire", "from", "to", "size", "colour", ">length", ">worst", ">drop", "fuse")
    return text_table("Wires", columns, rows)


def connectors(made: Electrics) -> Iterator[str]:
    """Every connector with its contacts."""
    for one in made.connectors:
        returned = ""
        if one.returns:
            many = "one return" if len(one.returns) == 1 else f"{len(one.returns)} returns"
            returned = f"; {one.returned.shown()} come back by {many}"
        title = (
            f"Connector {one.name}: {len(one.contacts)} contacts of {shown(one.rating_a, 'A')},"
            f" {one.allowed_a.shown()} each as it is loaded{returned}"
        )
        rows = [
            (numbers, contact.carries, contact.wire, _shown(contact.current))
            for numbers, contact in _runs(one)
        ]
        yield from text_table(title, ("contact", "carries", "wire", ">worst"), rows)


def winches(made: Electrics) -> Iterator[str]:
    """What follows from the winches' drums; of what changes with its layers both ends."""
    rows = []
    for one in made.winches:
        first, last = one.layers[0], one.layers[-1]
        written = ", ".join(f"{way.name} {way.limit.shown()}" for way in one.ways)
        pull = ""
        if first.pull is not None and last.pull is not None:
            pull = _range(first.pull, last.pull)
        rows.append(
            (
                one.name,
                one.turns.shown(),
                _shown(one.loose),
                one.run.shown(),
                one.limit.shown(),
                written,
                _range(first.travel, last.travel),
                pull,
                f"{one.longest.shown()} at a time" if one.longest is not None else "",
            )
        )
    columns = (
        "winch",
        ">turns",
        ">loosely",
        ">run",
        ">limit",
        "written",
        "a turn",
        "pull",
        "motor",
    )
    return text_table(
        "Winches: the whole travel, and the longest limit that can be right", columns, rows
    )


def battery(made: Electrics) -> Iterator[str]:
    """How long each battery lasts."""
    for one in made.batteries:
        yield from text_table(f"Battery {one.name}", ("", ""), list(_battery_rows(one, made)))


def pins(made: Electrics) -> Iterator[str]:
    """What the chip carries; of single pins only those with more than half of what they may."""
    rows = [
        (row.of, row.way, row.carries.shown(), shown(row.most_a, "A"), row.clause)
        for row in made.pins
        if "(" not in row.of or row.carries.value > row.most_a / 2
    ]
    columns = ("board", "", ">at worst", ">at most", "by")
    return text_table("The board's pins", columns, rows)


def parts(made: Electrics) -> Iterator[str]:
    """What there is to buy."""
    rows = [
        (str(part.quantity), part.what, part.spec, _cut(", ".join(part.for_)))
        for part in made.parts
    ]
    return text_table("To buy", (">", "what", "which", "for"), rows)


def figures(made: Electrics) -> Iterator[str]:
    """What else was reckoned: resistors, diodes, driver chips, regulators' heat."""
    rows = [(figure.of, figure.what, figure.shown()) for figure in made.figures]
    return text_table("Further figures", ("of", "what", ">"), rows)


TABLES = {
    "supplies": supplies,
    "circuits": circuits,
    "fuses": fuses,
    "connectors": connectors,
    "winches": winches,
    "battery": battery,
    "pins": pins,
    "wires": wires,
    "parts": parts,
    "figures": figures,
}
"""Every table by the word for it."""

USUAL = ("supplies", "circuits", "fuses", "connectors", "winches", "battery")
"""Those that are told unless others are asked for."""


def _battery_rows(one: Endurance, made: Electrics) -> Iterator[tuple[str, str]]:
    yield "full, and empty at the worst current", f"{one.full.shown()}, {one.cut_off.shown()}"
    if one.sag is not None:
        yield "lost inside at the worst current", one.sag.shown()
    yield f"at the worst current of {one.worst.shown()} all the time", _time(one.at_worst)
    yield "capacity at the temperature", _or_why(one.temperature)
    if one.used is not None:
        yield f"taken by {made.run}", _or_why(one.used)
    if one.profile is not None:
        yield "if that is repeated until it is empty", _time(one.profile)


def _time(found: Figure | Refused) -> str:
    if isinstance(found, Refused):
        return f"nobody can say: {found.why}"
    minutes = round(found.value * 60)
    if minutes < 120:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60} min"


def _or_why(found: Figure | Refused) -> str:
    return f"nobody can say: {found.why}" if isinstance(found, Refused) else found.shown()


def _runs(connector: Connector) -> Iterator[tuple[str, Contact]]:
    """The contacts, those side by side that carry nothing together."""
    run: list[Contact] = []
    for contact in connector.contacts:
        if run and (
            contact.wire or contact.current is not None or contact.carries != run[0].carries
        ):
            yield _numbers(run), run[0]
            run = []
        run.append(contact)
    if run:
        yield _numbers(run), run[0]


def _numbers(run: Sequence[Contact]) -> str:
    first, last = run[0].number, run[-1].number
    return str(first) if first == last else f"{first} to {last}"


def _lengths(made: Electrics) -> dict[str, str]:
    """The longest wire of each circuit."""
    longest: dict[str, float] = {}
    for wire in made.wires:
        if wire.length_m is not None:
            for name in wire.carries:
                longest[name] = max(longest.get(name, 0.0), wire.length_m)
    return {name: f"{length:g} m" for name, length in longest.items()}


def _fuse(branch: Branch, made: Electrics) -> str:
    return next(
        (
            f"{one.number} {shown(one.rating_a, 'A')}"
            for one in made.fuses
            if one.number == branch.fuse
        ),
        "",
    )


def _shown(figure: Figure | None) -> str:
    return figure.shown() if figure is not None else ""


def _range(first: Figure, last: Figure) -> str:
    """What grows or falls from the first layer to the last."""
    one, other = first.shown(), last.shown()
    return one if one == other else f"{one} to {other}"


def _cut(text: str) -> str:
    return text if len(text) <= MOST_FOR else f"{text[: MOST_FOR - 1]}…"
