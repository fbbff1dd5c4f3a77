"""What a page asks for, judged before anything is done: a page is only a page, and may send
anything."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from gen.diagnostics import show

if TYPE_CHECKING:
    from collections.abc import Iterable

Json = dict[str, Any]

MOST_BYTES = 16 * 1024
"""How long a message may be: the longest that a page has reason to send has one name in it."""

MOST_ID = 2**53


class Not(Exception):  # noqa: N818 - named after the answer
    """The answer is no; `code`, `why` and `hint` are told to the page."""

    def __init__(self, code: str, why: str, hint: str = "") -> None:
        super().__init__(why)
        self.code = code
        self.why = why
        self.hint = hint


def bad(why: str) -> Not:
    """What no page of ours would send."""
    return Not("bad", why)


class Asked:
    """One command. Each way of asking for a part of it raises Not (`bad`) where that is missing or
    of the wrong kind; `finish` where there is a part that nobody asked for."""

    def __init__(self, text: str) -> None:
        if len(text) > MOST_BYTES:
            raise bad("a message is too long")
        try:
            message = json.loads(text)
        except (ValueError, RecursionError):
            raise bad("a message is no JSON") from None
        if not isinstance(message, dict):
            raise bad("a message is an object")
        self._left: Json = message
        self.id = self.whole("id", 0, MOST_ID, usual=0)
        self.do = self.text("do", 40)

    def whole(self, key: str, low: int, high: int, *, usual: int | None = None) -> int:
        """A whole number."""
        value = self._left.pop(key, usual)
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise bad(f"{key} is to be from {low} to {high}")
        return value

    def one_of(self, key: str, count: int) -> int:
        """A place in a list of so many."""
        return self.whole(key, 0, count - 1)

    def several_of(self, key: str, count: int) -> list[int]:
        """Places in a list of so many; all of them where nothing is said."""
        value = self._left.pop(key, None)
        if value is None:
            return list(range(count))
        if not isinstance(value, list) or len(value) > count:
            raise bad(f"{key} is to be a list")
        if not all(type(one) is int and 0 <= one < count for one in value):
            raise bad(f"{key} is to hold numbers from 0 to {count - 1}")
        return value

    def flag(self, key: str, *, usual: bool | None = None) -> bool:
        """Yes or no."""
        value = self._left.pop(key, usual)
        if not isinstance(value, bool):
            raise bad(f"{key} is to be true or false")
        return value

    def text(self, key: str, most: int, *, usual: str | None = None) -> str:
        """A text in one line."""
        value = self._left.pop(key, usual)
        if not isinstance(value, str) or len(value) > most or (value and not value.isprintable()):
            raise bad(f"{key} is to be a text of {most} characters at most, in one line")
        return value

    def word(self, key: str, words: Iterable[str]) -> str:
        """One of these."""
        value = self._left.pop(key, None)
        known = tuple(words)
        if value not in known or not isinstance(value, str):
            raise bad(f"{key} is to be one of {', '.join(known)}")
        return value

    def has(self, key: str) -> bool:
        """Whether it is there."""
        return key in self._left

    def finish(self) -> None:
        """All has been asked for."""
        if self._left:
            raise bad(f"{show(next(iter(self._left)))} is not asked for here")
