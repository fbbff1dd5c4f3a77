"""The guide's page on currents: its example has no fault, and what it shows is what is told."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from gen.load import load_text
from gen.resources import resource
from host_tools.cli.power_tables import TABLES
from host_tools.electrical.explain import explained
from host_tools.electrical.of_ship import electrics_of

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Electrics

PAGE = (resource("templates") / "guide" / "power.md").read_text(encoding="utf-8")
HEAD = """ship: Skerry Maid
board: nano
receiver: {channels: {deck keys: D2, davit keys: D3, wheel: D4}}
controls:
  deck key: {from: deck keys}
  davit key: {from: davit keys}
  rudder stick: {from: wheel, kind: stick}
"""
BLOCKS = re.findall(r"\n```(\w*)\n(.*?)\n```", PAGE, re.DOTALL)
SHOWN = [text for kind, text in BLOCKS if kind != "yaml"]


def made() -> Electrics:
    (example,) = (text for kind, text in BLOCKS if kind == "yaml")
    loaded = load_text(f"{HEAD}{example}\n".encode(), "skerry.yaml")
    assert loaded.problems == []
    return electrics_of(loaded.ship, loaded.plan, loaded.board)


def test_the_example_is_clean_and_tells_all() -> None:
    assert made().findings == ()
    assert made().missing == ()


@pytest.mark.parametrize("shown", SHOWN, ids=lambda text: text.split()[0])
def test_what_the_page_shows_is_what_is_told(shown: str) -> None:
    if shown.startswith("$ "):
        _, _, shown = shown.partition("\n")
        assert shown in "\n".join(explained(made(), "davit"))
        return
    told = ["\n".join(table(made())) for table in TABLES.values()]
    assert shown in told


def test_it_shows_every_usual_table() -> None:
    assert len(SHOWN) == 6
