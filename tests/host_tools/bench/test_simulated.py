"""The simulated ship on the bench, in stepped time: what the page is told, and what it can do."""

from __future__ import annotations

import pytest

from tests.host_tools.bench.benches import OnBench, starter


@pytest.fixture
def tender() -> OnBench:
    bench = OnBench(starter("tender"))
    bench.run(0.5)
    return bench


def test_ship_comes_first_then_state_then_everything(tender: OnBench) -> None:
    assert [one["t"] for one in tender.told.messages[:3]] == ["ship", "state", "rows"]
    first = tender.told.of("rows")[0]
    assert first["whole"]
    assert {"g", "c", "f", "x", "s", "u", "r"} <= first["rows"][0].keys()
    assert [one["n"] for one in tender.told.of("rows")] == list(range(len(tender.told.of("rows"))))


def test_description_is_that_of_the_ship(tender: OnBench) -> None:
    ship = tender.told.ship
    assert (ship["ship"], ship["file"]) == ("Skerry Maid", "tender.yaml")
    davit = ship["functions"][tender.index("functions", "davit")]
    assert davit["states"] == ["stopped", "lowering", "raising"]
    assert davit["moves"]
    assert "pinches" in davit["caution"]
    assert davit["may_stall"]
    assert not ship["functions"][tender.index("functions", "deck lights")]["caution"]
    six_volts = ship["supplies"][tender.index("supplies", "6 V")]
    assert (six_volts["parent"], six_volts["worst_ma"]) == ("12 V", 1300)


def test_key_toggles_the_deck_lights(tender: OnBench) -> None:
    assert tender.put("deck key", "up")["ok"]
    tender.run(0.3)
    assert tender.put("deck key", "centre")["ok"]
    tender.run(0.3)
    assert tender.state_of("deck lights") == "on"
    assert "deck key up" in tender.told.log
    assert "deck lights on" in tender.told.log
    relay = tender.index("outputs", "deck relay")
    line = tender.told.ship["outputs"][relay]["index"]
    assert tender.told.latest("x")[line] == [1]


def test_pulses_come_fifty_times_a_second_and_so_do_messages(tender: OnBench) -> None:
    before = len(tender.told.of("rows")), len(tender.told.rows)
    tender.run(2.0)
    assert 45 * 2 <= len(tender.told.of("rows")) - before[0] <= 52 * 2
    pulses = [pulse for row in tender.told.rows[before[1] :] for pulse in row.get("p", ())]
    assert len(pulses) == pytest.approx(2 * 50 * 5, abs=5)
    assert {half_us for channel, half_us, slot in pulses if channel == 1} == {3000}


def test_winch_says_what_is_left_of_its_travel(tender: OnBench) -> None:
    davit = tender.index("functions", "davit")

    def gauges() -> dict[str, tuple[int, int]]:
        told: dict[int, list[list[object]]] = {}
        for message in tender.told.of("rows"):
            told |= dict(message["now"]["f"])
        return {what: (left, of) for what, left, of in told[davit]}  # type: ignore[misc]

    assert gauges() == {"lower": (-1, 800), "raise": (-1, 1000)}
    tender.put("davit lever", "lower")
    tender.run(6.0)  # longer than the whole travel: now it is known where it hangs
    assert gauges()["lower"] == (0, 800)
    assert gauges()["raise"][0] == 1000
    assert tender.state_of("davit") == "stopped"
    tender.put("davit lever", "rest")
    tender.run(0.3)
    tender.put("davit lever", "raise")
    tender.run(1.0)
    assert 0 < gauges()["lower"][0] < 800


def test_signal_is_lost_and_comes_back(tender: OnBench) -> None:
    assert tender.ask("signal", lost=True)["ok"]
    tender.run(0.6)
    assert tender.told.state["signal"] == "none"
    assert tender.state_of("anchor light") == "on"  # `on loss: on`
    assert "signal lost on deck keys" in tender.told.log
    assert tender.ask("signal", lost=False)["ok"]
    tender.run(0.5)
    assert tender.told.state["signal"] == "all"
    one = tender.index("channels", "deck keys")
    assert tender.ask("signal", lost=True, channels=[one])["ok"]
    tender.run(0.6)
    assert tender.told.state["signal"] == "some"
    assert tender.told.state["faults"]["lost"] == [one]


def test_noise_and_dropped_frames(tender: OnBench) -> None:
    assert tender.ask("noise", half_us=40)["ok"]
    before = len(tender.told.rows)
    tender.run(2.0)
    widths = [p[1] for row in tender.told.rows[before:] for p in row.get("p", ()) if p[0] == 1]
    near = [width for width in widths if abs(width - 3000) <= 40]
    assert len(set(near)) > 20
    assert len(near) >= 0.9 * len(widths)
    assert tender.ask("noise", half_us=0)["ok"]
    assert tender.ask("drop", percent=50)["ok"]
    before = len(tender.told.rows)
    tender.run(4.0)
    came = [p for row in tender.told.rows[before:] for p in row.get("p", ())]
    assert 0.4 < len(came) / (4 * 50 * 5) < 0.6


def test_brown_out_starts_the_ship_anew_and_time_goes_on(tender: OnBench) -> None:
    tender.put("deck key", "up")
    tender.run(0.3)
    tender.put("deck key", "centre")
    tender.run(0.3)
    until = tender.told.of("rows")[-1]["until"]
    assert tender.ask("brown_out")["ok"]
    tender.run(0.3)
    ups = [row for row in tender.told.rows if row.get("up") == "brown-out"]
    assert len(ups) == 1
    assert ups[0]["k"] >= until
    assert tender.state_of("deck lights") == "off"


def test_held_fast_it_takes_its_stall_current(tender: OnBench) -> None:
    twelve = tender.index("supplies", "12 V")

    def now_ma() -> int:
        told = [dict(one["now"]["a"]) for one in tender.told.of("rows") if one["now"]["a"]]
        found: int = [one[twelve] for one in told if twelve in one][-1]
        return found

    tender.put("davit lever", "lower")
    tender.run(0.5)
    assert now_ma() == 1500
    davit = tender.index("functions", "davit")
    assert tender.ask("stall", function=davit, on=True)["ok"]
    tender.run(0.5)
    assert now_ma() == 6000
    assert tender.told.state["faults"]["stalled"] == [davit]
    lights = tender.index("functions", "deck lights")
    assert tender.ask("stall", function=lights, on=True)["code"] == "not-now"


def test_what_a_page_holds_springs_back_when_it_is_gone(tender: OnBench) -> None:
    tender.put("button row", "five")
    tender.run(0.3)
    assert tender.state_of("horn") == "on"
    _, other = tender.more_pages()
    tender.bench.leave(tender.page)
    tender.told = other
    tender.run(0.3)
    assert tender.state_of("horn") == "off"


def test_stop_lets_go_of_everything(tender: OnBench) -> None:
    tender.put("button row", "five")
    tender.ask("noise", half_us=10)
    tender.ask("signal", lost=True, channels=[0])
    tender.run(0.2)
    assert tender.ask("stop")["ok"]
    tender.run(0.3)
    assert tender.state_of("horn") == "off"
    faults = tender.told.state["faults"]
    assert faults == {"lost": [], "noise_half_us": 0, "drop_percent": 0, "stalled": []}


def test_slow_page_is_told_everything_anew(tender: OnBench) -> None:
    slow, told = tender.more_pages()
    tender.run(0.2)
    told.stuck = True
    tender.run(4.0)  # two seconds' worth wait, then no more is sent
    assert told.unsent < 150
    told.stuck, told.unsent = False, 0
    told.messages.clear()
    tender.run(0.2)
    assert told.of("rows")[0]["whole"]
    assert not any(one["whole"] for one in told.of("rows")[1:])
    assert slow.dropped > 50
    assert told.state["dropped"] == slow.dropped
    numbers = [one["n"] for one in told.of("rows")]
    assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))


def test_computer_that_slept_does_not_race_through_the_night(tender: OnBench) -> None:
    until = tender.bench.source.until
    tender.clock.now += 8 * 3600
    tender.bench.turn()
    assert tender.bench.source.until <= until + 200
    tender.run(0.5)
    assert tender.bench.source.until <= until + 200 + 101


def test_sensors_are_in_the_pages_hand() -> None:
    cutter = OnBench(starter("cutter"))
    cutter.run(0.5)
    hatch = cutter.index("sensors", "hatch switch")
    assert cutter.told.ship["sensors"][hatch]["rest"] == 0
    assert cutter.ask("sense", sensor=hatch, reading=1)["ok"]
    cutter.run(0.5)
    assert cutter.told.latest("r")[hatch] == [1]
    assert cutter.state_of("hatch light") == "on"
    assert cutter.ask("sense", sensor=hatch, reading=2)["code"] == "bad"


def test_ninth_page_is_one_too_many(tender: OnBench) -> None:
    for _ in range(7):
        tender.more_pages()
    with pytest.raises(AssertionError):
        tender.more_pages()
