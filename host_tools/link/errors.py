"""What can be wrong on the way to a board."""

from __future__ import annotations

from gen.codes import CODES


class LinkError(Exception):
    """`code` is a key of CODES; `hint` is its remedy unless there is a better one. A board that
    failed in the middle `board_fell_short`; else an input was wrong to begin with."""

    def __init__(
        self, code: str, what: str, hint: str = "", *, board_fell_short: bool = False
    ) -> None:
        super().__init__(what)
        self.code = code
        self.what = what
        self.hint = hint or CODES[code].remedy
        self.board_fell_short = board_fell_short
