"""The declarations of the ship file's keys are sound."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.behaviours import REGISTRY
from gen.diagnostics import Place, Problems
from gen.electric import (
    CoilItem,
    ConnectorItem,
    DriverItem,
    DrumItem,
    LedsItem,
    LoadItem,
    ServoPowerItem,
    SupplyItem,
    WiresItem,
)
from gen.nodes import TextNode
from gen.read.keys import keys_of
from gen.ship import (
    ChannelItem,
    ControlItem,
    LineItem,
    PairItem,
    ReceiverItem,
    ServoItem,
    Ship,
)
from tests.gen.small import problems, small

if TYPE_CHECKING:
    from gen.read.keys import Record

PARTS: tuple[type[Record], ...] = (ChannelItem, ControlItem, LineItem, PairItem, ServoItem)
BEHAVIOURS = [behaviour.written for behaviour in REGISTRY.values()]
ELECTRIC: tuple[type[Record], ...] = (
    *(SupplyItem, LoadItem, LedsItem, DrumItem, CoilItem),
    *(ServoPowerItem, ConnectorItem, WiresItem, DriverItem),
)
RECORDS: list[type[Record]] = [Ship, ReceiverItem, *PARTS, *ELECTRIC, *BEHAVIOURS]


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_what_leaving_a_key_out_means_can_itself_be_written(record: type[Record]) -> None:
    for key in keys_of(record).values():
        assert not (key.required and key.default is not None), key.name
        if key.default is not None:
            noted = Problems("x")
            assert key.kind.read(TextNode(Place(1, 1), key.default), key.name, noted) is not None
            assert not noted.found


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_key_is_explained(record: type[Record]) -> None:
    for key in keys_of(record).values():
        assert key.about
        assert key.kind.words
        assert not key.about.endswith(".")
    assert not record.later & keys_of(record).keys()
    assert not record.shorthand or record.shorthand in keys_of(record)


def test_a_behaviour_is_named_by_its_own_key() -> None:
    for word, behaviour in REGISTRY.items():
        assert keys_of(behaviour.written)[word].required


def test_the_short_form_is_the_long_form() -> None:
    short = small(("key: {from: keys}", "key: keys"), ("relay: {pin: D5}", "relay: D5"))
    assert short.plan == small().plan


def test_a_number_for_a_pin_earns_its_label() -> None:
    (problem,) = problems(("pin: D5", "pin: 5"))
    assert (problem.code, problem.hint) == ("unknown-pin", "write D5")


def test_loads_and_supplies_are_checked() -> None:
    supplies = ("functions:", "supplies:\n  battery: {voltage: 12 V, capacity: 7 Ah}\nfunctions:")
    load = ("drives: relay}", "drives: relay, load: {supply: battery, draws: 0.8 A, kind: lamp}}")
    ship = small(supplies, load).ship
    (item,) = (function.load for function in ship.functions if function.load is not None)
    assert item.draws is not None
    assert item.draws.value == 800
    assert item.supply.value == "battery"
    (problem,) = problems(load)
    assert (problem.code, problem.hint) == ("unknown-name", "add a section 'supplies:'")
    codes = [p.code for p in problems(supplies, (load[0], load[1].replace("0.8 A", "0.8 V")))]
    assert codes == ["wrong-unit"]
