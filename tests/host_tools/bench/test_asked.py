"""Whatever a page sends: judged first, and never a crash."""

from __future__ import annotations

import json
import random
from typing import TYPE_CHECKING, Any

import pytest

from tests.host_tools.bench.benches import OnBench, starter
from tests.host_tools.bench.commands import COMMANDS

if TYPE_CHECKING:
    from pathlib import Path

VALUES: tuple[Any, ...] = (
    *(0, 1, 2, 3, 7, 255, 1000, 3000, -1, 2**31, 2**70, 1.5, 1e308),
    *(True, False, None, "", "on", "minute", "recording", "x", "../x", "\x00", "\ud800", "a" * 90),
    *("deck and work lights are apart", "<script>", [], [0], [0, 99], [True], {}, {"a": 1}),
)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> OnBench:
    ship = tmp_path_factory.mktemp("random") / "tender.yaml"
    ship.write_bytes(starter("tender").read_bytes())
    made = OnBench(ship)
    made.run(0.2)
    return made


def test_every_command_of_the_bench_is_tried_here(bench: OnBench) -> None:
    assert set(bench.bench._commands) == set(COMMANDS)


def test_ten_thousand_random_messages_and_the_ship_goes_on(bench: OnBench) -> None:
    draw = random.Random(8)
    before: Path = bench.bench.opened.path
    content = before.read_bytes()
    good = 0
    for number in range(10_000):
        text = _message(draw)
        if '"save_tr' in text and number % 50:
            continue  # these write files: two hundred are enough
        answers = len(bench.told.messages)
        bench.bench.take(bench.page, text)
        answer = next(m for m in bench.told.messages[answers:] if m["t"] == "answer")
        good += answer["ok"]
        assert answer["ok"] or (answer["code"] and answer["why"])
        if number % 100 == 0:
            bench.run(0.02)
            bench.told.messages[3:] = []
    assert good > 300  # many of them were in order, too
    until = bench.bench.source.until
    bench.ask("stop")
    bench.run(0.2)
    assert bench.bench.source.until > until
    if bench.bench.opened.path.read_bytes() != content:
        # A trial may have been put in, because a message said that it was sure.
        assert bench.bench.opened.plan.plan_id == bench.told.state["board_plan"]
    assert not [one for one in before.parent.iterdir() if one.suffix not in (".yaml", ".trace")]


def _message(draw: random.Random) -> str:
    kind = draw.random()
    if kind < 0.1:
        return "".join(chr(draw.randrange(1, 0x2FF)) for _ in range(draw.randrange(40)))
    if kind < 0.2:
        return json.dumps(draw.choice(VALUES))
    if kind < 0.25:
        return "[" * draw.randrange(1, 16_000)
    do = draw.choice(list(COMMANDS))
    keys = [key for key in COMMANDS[do] if draw.random() < 0.85]
    message: dict[str, Any] = {"do": do, "id": draw.choice((1, 2, 3, 10**9))}
    message |= {key: draw.choice(VALUES) for key in keys}
    if draw.random() < 0.1:
        message[draw.choice(("extra", "id", "do"))] = draw.choice(VALUES)
    return json.dumps(message)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[]",
        "1",
        "null",
        '{"do":"nothing"}',
        '{"do":"stop","id":-1}',
        '{"do":"stop","id":1.0}',
        '{"do":"stop","more":1}',
        '{"do":"move","control":true,"position":0}',
        '{"do":"move","control":0}',
        '{"do":"move","control":99,"position":0}',
        '{"do":"move","control":0,"half_us":1e3}',
        '{"do":"signal","lost":1}',
        '{"do":"signal","lost":true,"channels":[0,0,0,0,0,0]}',
        '{"do":"signal","lost":true,"channels":["0"]}',
        '{"do":"noise","half_us":401}',
        '{"do":"save_trace","what":"all"}',
        "NaN",
        '{"do":"' + "x" * 20_000 + '"}',
    ],
)
def test_what_no_page_of_ours_would_send(bench: OnBench, text: str) -> None:
    assert not bench.bench.take(bench.page, text)
    assert bench.told.of("answer")[-1]["code"] == "bad"
