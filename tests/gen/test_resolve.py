"""From names and quantities to indices and integers."""

from __future__ import annotations

import dataclasses
import re

import pytest

from gen.behaviours import Follow, Loss, Pulse, Winch
from gen.diagnostics import ShipError
from gen.plan import Ask, Pair
from gen.render import render
from tests.gen.small import NANO, on_board, problems, small


def codes(*changes: tuple[str, str]) -> list[str]:
    return [problem.code for problem in problems(*changes)]


def test_the_small_ship_is_whole() -> None:
    loaded = small()
    assert loaded.problems == []
    assert loaded.plan.source == "small.yaml"
    assert [function.name for function in loaded.plan.functions] == ["arm", "davit", "lamp"]
    assert [line.name for line in loaded.plan.lines] == [
        *("relay", "winch motor lower", "winch motor raise")
    ]
    assert loaded.plan.pairs == (Pair("winch motor", "winch_motor", 1, 2),)


def test_a_winch() -> None:
    winch = small().plan.functions[1]
    assert isinstance(winch, Winch)
    assert (winch.ways, winch.pair_lines, winch.drives) == (("lower", "raise"), (1, 2), 0)
    assert (winch.first, winch.second) == (Ask(0, 0), Ask(0, 2))
    assert (winch.first_limit_ticks, winch.second_limit_ticks, winch.pause_ticks) == (
        *(1600, 1800, 100),
    )


def test_a_winch_needs_no_pause() -> None:
    winch = small(("raise: 9 s}", "raise: 9 s}\n    pause: 0 s")).plan.functions[1]
    assert isinstance(winch, Winch)
    assert winch.pause_ticks == 0


@pytest.mark.parametrize(
    ("keys", "step"),
    [
        ("", 2000 * 256),  # no speed: the whole range in one tick
        (", speed: 90 deg/s", 2560),  # 90 deg are 2000 half us: 10 of them a tick, in 1/256
        (", speed: 500 us/s", 1280),
        (", speed: 0.001 us/s", 1),  # slow, but it arrives
        (", speed: 100000 deg/s", 2000 * 256),
    ],
)
def test_how_fast_a_servo_moves(keys: str, step: int) -> None:
    follow = small(("drives: servo", f"drives: servo{keys}")).plan.functions[0]
    assert isinstance(follow, Follow)
    assert follow.step_per_256 == step


def test_degrees_go_by_the_servos_travel() -> None:
    changes = [("drives: servo", "drives: servo, speed: 90 deg/s")]
    changes += [("kind: servo", "kind: servo, travel: 180 deg")]
    follow = small(*changes).plan.functions[0]
    assert isinstance(follow, Follow)
    assert follow.step_per_256 == 1280


def test_what_loss_means() -> None:
    lamp = small(("drives: relay}", "drives: relay, on loss: on}")).plan.functions[2]
    assert isinstance(lamp, Pulse)
    assert lamp.on_loss is Loss.ON
    assert codes(("drives: servo}", "drives: servo, on loss: on}")) == ["unknown-word"]
    assert codes(("winch motor\n  arm", "winch motor\n    on loss: keep\n  arm")) == ["unknown-key"]


def test_a_servo_rests_in_its_middle() -> None:
    servo = small(("kind: servo", "kind: servo, range: 900..2000.5 us")).plan.servos[0]
    assert (servo.range_half_us, servo.rest_half_us, servo.unit) == ((1800, 4001), 2900, "OC1A")
    servo = small(("kind: servo", "kind: servo, rest: 1000 us")).plan.servos[0]
    assert servo.rest_half_us == 2000
    assert codes(("kind: servo", "kind: servo, rest: 999 us")) == ["out-of-range"]


def test_bands_of_a_kind_are_cut_to_what_the_channel_can_say() -> None:
    control = small(("keys: D2", "keys: {pin: D2, lost below: 930 us, lost above: 2100 us}"))
    down, _, up = control.plan.controls[0].positions
    assert (down.low_half_us, up.high_half_us) == (1860, 4200)
    knob = small(("knobs: D3", "knobs: {pin: D3, valid: 800..2200 us}")).plan.controls[1]
    assert knob.positions[0].low_half_us == 1600
    assert knob.positions[0].high_half_us == 4400


def test_rest() -> None:
    bands = "positions: {up: 1700..2100 us, down: 900..1300 us, rest: 1400..1600 us}"
    key = small(("{from: keys}", f"{{from: keys, {bands}}}")).plan.controls[0]
    assert key.positions[key.rest].name == "rest"
    bands = bands.replace("rest:", "idle:") + ", rest: idle"
    key = small(("{from: keys}", f"{{from: keys, {bands}}}")).plan.controls[0]
    assert key.positions[key.rest].name == "idle"


def test_a_default_band_that_cannot_be_heard_is_an_error() -> None:
    assert "band-outside" in codes(("keys: D2", "keys: {pin: D2, valid: 1500..2300 us}"))


def test_channels_have_codes_of_their_own() -> None:
    """A control may have its channel's name, as on most transmitters."""
    plan = small(("key: {from: keys}", "keys: {from: keys}"), ("key up, for", "keys up, for"),
                 ("key down", "keys down"), ("raise: key up", "raise: keys up")).plan  # fmt: skip
    assert (plan.channels[0].code, plan.controls[0].code) == ("keys_channel", "keys")


def test_code_names() -> None:
    plan = small(
        ("ship: Gannet", "ship: Баклан\ncode name: baklan"),
        ("  lamp: {", "  Прожектор: {code name: lamp, "),
        ("relay: {pin: D5}", "реле: {pin: D5, code name: relay}"),
        ("drives: relay", "drives: реле"),
    ).plan
    assert (plan.code, plan.ship) == ("baklan", "Баклан")
    assert {f.name: f.code for f in plan.functions}["Прожектор"] == "lamp"


def declared() -> set[str]:
    """Every name that the small ship's sketch declares for all its files."""
    loaded = small()
    files = render(loaded.plan, loaded.board)
    text = files["src/ship.h"] + files["src/tick.h"] + files["gannet.ino"]
    pattern = r"^(?:static |constexpr |const )*[A-Z]\w+(?:::\w+)? +(\w+)(?: FLASH|\[\])* *[=;({]"
    return set(re.findall(pattern, re.sub(r"\[\]", "", text), re.MULTILINE))


def test_no_part_can_take_a_name_that_the_sketch_declares() -> None:
    names = declared()
    own = {"lamp"}
    assert own | {"key_up", "knob_value", "servo", "winch_motor_raise", "report"} <= names
    for name in names - own:
        found = codes(("  lamp: {", f"  lamp: {{code name: {name}, "))
        assert found in (["same-code"], ["reserved-name"]), name


def test_a_line_and_a_way_of_a_pair_cannot_share_a_name() -> None:
    """Trials and pictures tell lines apart by their names."""
    other = "relay: {pin: D5}\n  winch motor lower: {pin: D8, code name: other}"
    drives = ("drives: relay}", "drives: relay}\n  lamp 2: {toggle: key up, drives: %s}")
    second = (drives[0], drives[1] % "winch motor lower")
    assert codes(("relay: {pin: D5}", other), second) == ["same-code"]


def test_a_ship_whose_folder_windows_could_not_make() -> None:
    (problem,) = problems(("ship: Gannet", "ship: Con"))
    assert problem.code == "reserved-name"
    assert small(("ship: Gannet", "ship: Con\ncode name: connie")).plan.code == "connie"


def test_a_broken_part_is_no_further_mistake_of_what_names_it() -> None:
    assert codes(("relay: {pin: D5}", "relay: {pin: D5, active: lo}")) == ["unknown-word"]
    assert codes(("key: {from: keys}", "key: {from: keys, settle: 3}")) == ["wrong-unit"]
    assert codes(("keys: D2", "keys: {pin: D2, valid: 5 us}")) == ["wrong-range"]
    assert codes(("raise: 9 s}", "raise: 9 kg}")) == ["wrong-unit"]


def test_a_misspelt_control_does_not_also_count_as_unused() -> None:
    assert codes(("follow: knob", "follow: knobb")) == ["unknown-name"]


def test_a_function_that_moves_is_never_asked_for_at_rest() -> None:
    assert codes(("key up, for", "key centre, for")) == ["asks-at-rest"]
    assert codes(("lower: key down", "lower: key centre")) == ["asks-at-rest"]
    momentary = ("pulse: key up, for: 2 s", "momentary: key centre")
    assert small(momentary).plan.functions[2].name == "lamp"


def test_pins_are_known_by_their_other_labels_too() -> None:
    micro = [("nano", "micro"), ("keys: D2, knobs: D3", "keys: D8, knobs: MISO"), ("D9", "A10")]
    plan = small(*micro).plan
    assert plan.channels[1].pin == "D14"
    assert (plan.servos[0].pin, plan.servos[0].unit) == ("D10", "OC1B")
    assert codes(*micro, ("relay: {pin: D5}", "relay: {pin: D14}")) == ["pin-twice"]


def test_servos_take_a_timer_output_where_there_is_one() -> None:
    for label, unit in (("D9", "OC1A"), ("D10", "OC1B"), ("D11", "software")):
        assert small(("pin: D9", f"pin: {label}")).plan.servos[0].unit == unit


def test_a_servo_whose_timer_is_taken() -> None:
    """On a board where the processor needs Timer 1 for the servos that it switches itself."""
    board = dataclasses.replace(NANO, software_servos_take=1)
    second = ("servo: {pin: D9, kind: servo}",
              "servo: {pin: D9, kind: servo}\n  servo 2: {pin: D8, kind: servo}")  # fmt: skip
    drives = ("drives: servo}", "drives: servo}\n  arm 2: {follow: knob, drives: servo 2}")
    assert on_board(NANO, second, drives).problems == []
    assert on_board(board).problems == []
    with pytest.raises(ShipError) as caught:
        on_board(board, second, drives)
    assert str(caught.value) == (
        "small.yaml:11:16: error[timer-taken]: output 'servo': the timer of its pin is taken by "
        "the servo 'servo 2' on D8 (got D9, OC1A (ATmega328P datasheet, Timer/Counter1))"
    )


def test_of_a_pair_only_one_side_counts() -> None:
    """A2..A5 are in one group of 100 mA on the sinking side."""
    many = "\n".join(
        f"  pair {n}: {{lower: {low}, raise: {high}, active: low, draws: 35 mA}}"
        for n, low, high in ((1, "A0", "A1"), (2, "A2", "A3"))
    )
    winches = "\n".join(
        f"  winch {n}: {{winch: {{lower: key down, raise: key up}}, drives: pair {n}, "
        "limit: {lower: 1 s, raise: 1 s}}"
        for n in (1, 2)
    )
    changes = [("outputs:", f"outputs:\n{many}"), ("functions:", f"functions:\n{winches}")]
    assert codes(*changes) == ["pin-current-high"] * 4
    more = ("relay: {pin: D5}", "relay: {pin: A4, active: low, draws: 31 mA}")
    found = problems(*changes, more)
    assert [p.code for p in found if p.code != "pin-current-high"] == ["group-current"]
    assert "got 101 mA, expected at most 100 mA" in "".join(map(str, found))


def test_the_line_of_each_part_is_remembered() -> None:
    plan = small().plan
    assert [function.source_line for function in plan.functions] == [18, 14, 13]
    assert [line.source_line for line in plan.lines] == [9, 10, 10]


def test_every_problem_at_once_and_in_order() -> None:
    found = problems(("D2", "D99"), ("D5", "D1"), ("key up, for: 2 s", "kee up, for: 2 kg"))
    assert [problem.code for problem in found] == ["unknown-pin", "pin-reserved", "wrong-unit"]
    assert found == sorted(found, key=lambda problem: (problem.line, problem.col))


def test_problems_for_machines() -> None:
    (problem,) = problems(("D5", "D1"))
    assert problem.as_json() == {
        "file": "small.yaml",
        "line": 9,
        "col": 16,
        "severity": "error",
        "code": "pin-reserved",
        "what": "output 'relay': the pin is not free, "
        "it is the sending line of the USB serial port",
        "got": "'D1'",
        "expected": "",
        "hint": "",
    }


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            ("key up, for", "key upp, for"),
            "13:17: error[unknown-name]: function 'lamp': there is no such control and position "
            "(got 'key upp', expected a control and one of its positions)\n"
            "  hint: did you mean 'key up'?",
        ),
        (
            ("{from: keys}", "{from: keyz}"),
            "6:15: error[unknown-name]: control 'key': there is no such channel (got 'keyz')\n"
            "  hint: did you mean 'keys'?",
        ),
        (
            ("{from: keys}", "{from: keys, rest: middle}"),
            "6:27: error[unknown-name]: control 'key': rest is none of its positions "
            "(got 'middle')\n  hint: known here: centre, down, up",
        ),
        (
            ("keys: D2", "keys: {pin: D2, lost below: 1800 us, lost above: 1200 us}"),
            "4:63: error[lost-band]: channel 'keys': the two lost bands leave no good pulse "
            "(got '1200 us', expected more than 1800 us)",
        ),
        (
            ("{from: keys}", "{from: keys, settle: 51 pulses}"),
            "6:29: error[out-of-range]: control 'key': 'settle' is out of range "
            "(got '51 pulses', expected a whole number from 1 to 50)",
        ),
        (
            ("{from: keys}", "{from: keys, settle: 1.5 pulses}"),
            "6:29: error[out-of-range]: control 'key': 'settle' is out of range "
            "(got '1.5 pulses', expected a whole number from 1 to 50)",
        ),
        (
            ("{from: keys}", "{from: keys, hysteresis: 201 us}"),
            "6:33: error[out-of-range]: control 'key': 'hysteresis' is out of range "
            "(got '201 us', expected from 0 us to 200 us)",
        ),
        (
            ("kind: knob", "kind: knob, ends: 1000..1040 us"),
            "7:41: error[out-of-range]: control 'knob': 'ends' is only 40 us wide "
            "(got '1000..1040 us', expected at least 50 us)",
        ),
        (
            ("pin: D5", "pin: D5, draws: 0 mA"),
            "9:27: error[out-of-range]: output 'relay': 'draws' is out of range "
            "(got '0 mA', expected above 0 and at most 1000 mA)",
        ),
        (
            ("drives: servo", "drives: servo, speed: 0 deg/s"),
            "18:45: error[out-of-range]: function 'arm': 'speed' is out of range "
            "(got '0 deg/s', expected above 0 and at most 100000)",
        ),
        (
            ("drives: servo", "drives: servo, reverse: true"),
            "18:47: error[unknown-word]: function 'arm': 'reverse' is unknown "
            "(got 'true', expected yes or no)",
        ),
        (
            ("follow: knob", "follow: key"),
            "18:17: error[not-proportional]: function 'arm': 'key' is a key and has no value to "
            "follow (got 'key', expected a stick or a knob)",
        ),
    ],
)
def test_exact_words_of_further_mistakes(change: tuple[str, str], told: str) -> None:
    assert "\n".join(str(problem) for problem in problems(change)) == "\n".join(
        line if line.startswith("  hint") else f"small.yaml:{line}" for line in told.split("\n")
    )


def test_ticks_too_many_for_a_winch() -> None:
    assert codes(("raise: 9 s}", "raise: 327.675 s}")) == []
    assert codes(("raise: 9 s}", "raise: 327.68 s}")) == ["out-of-range"]


@pytest.mark.parametrize(
    ("steps", "left_on"),
    [
        ("[relay on, wait 1 s, relay off]", False),
        ("[relay on for 2 s]", False),
        ("[relay on, wait until arm]", True),
        ("[relay on for 2 s, relay on]", True),
    ],
)
def test_a_sequence_must_end_without_anything_on(steps: str, left_on: bool) -> None:
    change = (
        "lamp: {pulse: key up, for: 2 s, drives: relay}",
        f"lamp: {{sequence: key up, steps: {steps}}}",
    )
    assert ["never-off"] * left_on == [one.code for one in problems(change)]
