"""A bench in stepped time: a clock that goes on when a test says so, and a page that keeps what it
is told."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from host_tools.bench.bench import Bench
from host_tools.bench.page import Page
from host_tools.bench.simulated import SimulatedModel
from host_tools.cli.ships import starters
from host_tools.opened import opened_file

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from host_tools.bench.source import Source
    from host_tools.opened import OpenedShip

TURN_S = 0.005


class Clock:
    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class Told:
    """A page's end of the way: everything that it was sent. `stuck` takes nothing more."""

    def __init__(self) -> None:
        self.messages: list[dict[str, Any]] = []
        self.stuck = False
        self.unsent = 0

    def waiting(self) -> int:
        return self.unsent

    def send(self, text: str) -> None:
        self.unsent += self.stuck
        self.messages.append(json.loads(text))

    def of(self, kind: str) -> list[dict[str, Any]]:
        return [one for one in self.messages if one["t"] == kind]

    @property
    def ship(self) -> dict[str, Any]:
        return self.of("ship")[-1]

    @property
    def state(self) -> dict[str, Any]:
        return self.of("state")[-1]

    @property
    def rows(self) -> list[dict[str, Any]]:
        return [row for message in self.of("rows") for row in message["rows"]]

    @property
    def log(self) -> list[str]:
        return [text for message in self.of("rows") for _, _, text in message["log"]]

    def latest(self, key: str) -> dict[int, list[Any]]:
        """What was told last of each thing in a key of the rows."""
        found: dict[int, list[Any]] = {}
        for row in self.rows:
            for index, *value in row.get(key, ()):
                found[index] = value
        return found


class OnBench:
    """A ship on a bench with one page that looks on."""

    def __init__(
        self,
        ship: Path,
        open_source: Callable[[OpenedShip, int, Clock], Source] | None = None,
    ) -> None:
        self.clock = Clock()
        make = open_source or _model
        self.bench = Bench(
            opened_file(ship),
            lambda opened, first_k: make(opened, first_k, self.clock),
            self.clock,
            lambda: self.clock.now * 1000,
        )
        self.bench.start()
        self.told = Told()
        self.page = Page(self.told)
        assert self.bench.join(self.page)
        self._asked = 0

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds / TURN_S)):
            self.clock.now += TURN_S
            self.bench.turn()

    def ask(self, do: str, *, page: Page | None = None, **what: object) -> dict[str, Any]:
        """The answer to a command."""
        self._asked += 1
        asking = page or self.page
        way: Any = asking._way
        self.bench.take(asking, json.dumps({"do": do, "id": self._asked, **what}))
        answer: dict[str, Any] = way.of("answer")[-1]
        assert answer["id"] == self._asked
        return answer

    def more_pages(self) -> tuple[Page, Told]:
        told = Told()
        page = Page(told)
        assert self.bench.join(page)
        return page, told

    def index(self, kind: str, name: str) -> int:
        names = [one["name"] for one in self.told.ship[kind]]
        return names.index(name)

    def put(self, control: str, position: str) -> dict[str, Any]:
        index = self.index("controls", control)
        positions = [one["name"] for one in self.told.ship["controls"][index]["positions"]]
        return self.ask("move", control=index, position=positions.index(position))

    def state_of(self, function: str) -> str:
        index = self.index("functions", function)
        state: str = self.told.ship["functions"][index]["states"][self.told.latest("f")[index][0]]
        return state


def _model(opened: OpenedShip, first_k: int, clock: Clock) -> Source:
    return SimulatedModel(opened.plan, clock, first_k=first_k)


def starter(name: str) -> Path:
    return starters()[name]
