"""Every kind of input, by its word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.fuzz.edges import Edges
from tests.fuzz.link import FromBoard, ToBoard
from tests.fuzz.page import FromPage
from tests.fuzz.ships import Ships
from tests.fuzz.traces import Traces

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.fuzz.target import Target

TARGETS: dict[str, Callable[[], Target]] = {
    one.name: one for one in (Ships, Traces, Edges, FromBoard, ToBoard, FromPage)
}
