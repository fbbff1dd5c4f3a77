"""A page that looks on: what it is sent, and what it has missed."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_WAITING = 100
"""Messages that may wait for a page: two seconds of the stream. More are dropped."""

FEW_WAITING = 5
"""With so few waiting a page that had fallen behind is told everything anew."""


class Way(Protocol):
    """Where a page's messages go."""

    def waiting(self) -> int:
        """How many have not been sent yet."""
        ...

    def send(self, text: str) -> None:
        """One more; never waits."""
        ...


class Page:
    """One page. `dropped` counts messages of the stream that it did not get."""

    def __init__(self, way: Way) -> None:
        self.dropped = 0
        self._way = way
        self._number = 0
        self._wants_all = True
        self._state = ""

    def tell(self, message: dict[str, Any]) -> None:
        """Something that does not go stale: it is never dropped."""
        self._way.send(encoded(message))

    def tell_ship(self, text: str) -> None:
        """Another ship than before, or the first one: everything follows anew."""
        self._way.send(text)
        self._state = ""
        self._wants_all = True

    def tell_state(self, state: dict[str, Any]) -> None:
        """What is always visible, if it is not what this page was told last."""
        text = encoded({**state, "dropped": self.dropped})
        if text != self._state:
            self._state = text
            self._way.send(text)

    def tell_rows(self, news: str, everything: Callable[[], str]) -> None:
        """A part of the stream: `news` is a message without its number, and so is what `everything`
        gives, as it stands now, for a page that has to begin anew."""
        waiting = self._way.waiting()
        if waiting > MOST_WAITING or (self._wants_all and waiting > FEW_WAITING):
            self.dropped += 1
            self._wants_all = True
            return
        body = everything() if self._wants_all else news
        self._wants_all = False
        self._way.send(f'{{"t":"rows","n":{self._number},{body[1:]}')
        self._number += 1


def encoded(message: object) -> str:
    """JSON as short as it goes."""
    return json.dumps(message, ensure_ascii=False, separators=(",", ":"))
