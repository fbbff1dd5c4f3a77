"""The things whose cost is told, each as three small ships."""

from __future__ import annotations

from tests.benchmarks.cost_ships import (
    Part,
    Trio,
    added,
    first,
    grown,
    instead,
    option,
    second,
)

# --- What everything is added to: two channels with a control each, and an output on two ports ----

_RADIO: Part = {
    "channels": "deck keys: D2\nsteering: D4",
    "controls": "deck key: {from: deck keys}\nwheel: {from: steering, kind: stick}",
    "outputs": "lamp relay: A3\nhorn relay: D8",
}
BASE: Part = {
    **_RADIO,
    "functions": "lamp: {momentary: deck key down, drives: lamp relay}\n"
    "horn: {momentary: wheel high, drives: horn relay}",
}
_OTHER_BASE: Part = {
    **_RADIO,
    "functions": "lamp: {toggle: deck key down, drives: lamp relay}\n"
    "horn: {toggle: wheel high, drives: horn relay}",
}

# --- The parts ----------------------------------------------------------------------------------

_RELAY: Part = {"outputs": "relay $n: $line"}
_RELAYS: Part = {"outputs": "relay $n: $line\nother relay $n: $second"}
_TOGGLE: Part = {**_RELAY, "functions": "it $n: {toggle: deck key up, drives: relay $n}"}
_MOMENTARY: Part = {**_RELAY, "functions": "it $n: {momentary: deck key up, drives: relay $n}"}
_PULSE: Part = {
    **_RELAY,
    "functions": "it $n: {pulse: deck key up, for: 0.25 s, drives: relay $n}",
}
_STEP: Part = {
    **_RELAYS,
    "functions": "it $n: {step: deck key up, states: {off: nothing,"
    " one: relay $n, both: [relay $n, other relay $n]}}",
}
_RHYTHM: Part = {
    **_RELAY,
    "functions": "it $n: {rhythm: Fl(2) 10s, when: deck key up, drives: relay $n}",
}
_SEQUENCE: Part = {
    **_RELAYS,
    "functions": "it $n: {sequence: deck key up, abort: deck key down,"
    " steps: [relay $n on, wait 2 s, other relay $n on for 1.5 s]}",
}
_DIMMER: Part = {
    "outputs": "light $n: {pin: $pwm, kind: dimmer}",
    "functions": "it $n: {dimmer: deck key up, drives: light $n}",
}
_FOLLOW: Part = {
    "outputs": "servo $n: {pin: $timer, kind: servo}",
    "functions": "it $n: {follow: wheel, drives: servo $n}",
}
_WINCH: Part = {
    "outputs": "pair $n: {lower: $line, raise: $second}",
    "functions": "it $n: {winch: {lower: deck key down, raise: deck key up},"
    " limit: {lower: 8 s, raise: 9 s}, drives: pair $n}",
}
_AUTO: Part = {**_RELAY, "functions": "it $n: {auto: lamp, drives: relay $n}"}

_FEELING: Part = {  # where an option looks at a sensor, its cost is not the sensor's
    "sensors": "end stop: D12\ncurrent: {pin: A6, kind: analogue}",
    "outputs": "stop lamp: A5\ncurrent lamp: D13",
    "functions": "stop light: {auto: end stop closed, drives: stop lamp}\n"
    "current light: {auto: current above 1 V, drives: current lamp}",
}
_ANOTHER_LEVER: Part = {
    "channels": "throttle: D5",
    "controls": "lever: {from: throttle, kind: stick}",
    "outputs": "bell relay: A5",
    "functions": "bell: {momentary: lever high, drives: bell relay}",
}
_OWN_KEY: Part = {
    **_RELAY,
    "channels": "keys $n: $channel",
    "controls": "key $n: {from: keys $n}",
    "functions": "it $n: {momentary: key $n up, drives: relay $n}",
}
_OWN_STICK: Part = {
    **_OWN_KEY,
    "controls": "key $n: {from: keys $n, kind: stick}",
    "functions": "it $n: {momentary: key $n high, drives: relay $n}",
}
_OWN_BOX: Part = {
    **_OWN_KEY,
    "channels": "keys $n: {pin: $channel, shares: 8 slots, marker: below 950 us}",
    "controls": "key $n: {from: keys $n, slot: 1}",
}
_SWITCH_BOX: Part = {
    "channels": "switch box: {pin: D7, shares: 8 slots, marker: below 950 us}",
    "controls": "box key: {from: switch box, slot: 8}",
    "outputs": "box relay: A5",
    "functions": "box light: {momentary: box key up, drives: box relay}",
}
_SLOT_KEY: Part = {
    **_RELAY,
    "controls": "key $n: {from: switch box, slot: $n}",
    "functions": "it $n: {momentary: key $n up, drives: relay $n}",
}
_AUTO_BY_CONTACT: Part = {
    **_RELAY,
    "sensors": "sensor $n: $contact",
    "functions": "it $n: {auto: sensor $n closed, drives: relay $n}",
}
_AUTO_BY_VOLTAGE: Part = {
    **_RELAY,
    "sensors": "sensor $n: {pin: $volts, kind: analogue, divider: 47k/10k}",
    "functions": "it $n: {auto: sensor $n above 9 V, drives: relay $n}",
}


def _sum_signal(*channels: str) -> Part:
    frame = ", ".join([*channels, *["unused"] * (8 - len(channels))])
    return {"receiver": f"sum signal: {{pin: D7, channels: [{frame}], gap: 2700 us}}"}


def _named(name: str, part: Part) -> Part:
    """The first copy of a part under another name, so that two more can come."""
    return {
        section: text.replace(" 1:", f" {name}:").replace(" 1}", f" {name}}}")
        for section, text in part.items()
    }


def _without_channel(part: Part) -> Part:
    return {section: text for section, text in part.items() if section != "channels"}


def _states(states: int) -> Part:
    """A `step` of two relays with so many states besides off."""
    on = ("[relay 0, relay 1]", "relay 0", "relay 1")[:states]
    named = "".join(f", s{i}: {relays}" for i, relays in enumerate(on))
    return {
        "outputs": "relay 0: A0\nrelay 1: A1",
        "functions": f"it: {{step: deck key up, states: {{off: nothing{named}}}}}",
    }


def _steps(waits: int) -> Part:
    """A `sequence` that waits so many times between its first step and its last."""
    steps = ", ".join(["relay on", *(f"wait {i + 1} s" for i in range(waits)), "relay on for 1 s"])
    return {
        "outputs": "relay: A0",
        "functions": f"it: {{sequence: deck key up, abort: deck key down, steps: [{steps}]}}",
    }


def _stages(stages: int) -> Part:
    """A battery that is sensed, with so many stages."""
    lines = ("below 11.4 V for 5 s: [it 1]", "below 10.8 V for 5 s: [it 2]")[:stages]
    return {
        "supplies": "battery: {voltage: 12 V, sensed on: A6, divider: 22k/10k}",
        "low battery": "\n".join([*lines, "recovers: above 12.2 V for 30 s"]),
    }


def _relays(relays: int) -> Part:
    """A `step` that switches so many relays together."""
    pins = ("A0", "A1", "A2", "A4", "A5")[:relays]
    named = ", ".join(f"relay {i}" for i in range(relays))
    return {
        "outputs": "\n".join(f"relay {i}: {pin}" for i, pin in enumerate(pins)),
        "functions": f"it: {{step: deck key up, states: {{off: nothing, on: [{named}]}}}}",
    }


def _shelf(outputs: int) -> str:
    """A chain of shift registers."""
    pins = "data: D11, clock: D13, latch: D10, blank: D12"
    return f"shelf: {{kind: shift register, {pins}, outputs: {outputs}}}"


def _on(*outputs: str) -> Part:
    """A toggle for each output."""
    rows = [f"it {i}: {{toggle: deck key up, drives: {it}}}" for i, it in enumerate(outputs)]
    return {"functions": "\n".join(rows)}


# --- The rows -----------------------------------------------------------------------------------

BEHAVIOURS = (
    Trio("toggle", "and its relay", added(_TOGGLE, BASE)),
    Trio("momentary", "and its relay", added(_MOMENTARY, _OTHER_BASE)),
    Trio("pulse", "and its relay", added(_PULSE, BASE)),
    Trio("step", "three states of two relays", added(_STEP, BASE)),
    Trio("rhythm", "`Fl(2) 10s` on a relay, switched by presses", added(_RHYTHM, BASE)),
    Trio("sequence", "three steps with two relays, an abort", added(_SEQUENCE, BASE)),
    Trio("dimmer", "and its light on a timer's pin", added(_DIMMER, BASE)),
    Trio("follow", "and its servo on a timer's pin", added(_FOLLOW, BASE)),
    Trio("winch", "and its pair; limits and pause", added(_WINCH, BASE)),
    Trio("auto", "and its relay, while a function is on", added(_AUTO, BASE)),
)
"""One for each behaviour; `what` is its word."""

OPTIONS = (
    Trio("only while", "on a toggle", option(_TOGGLE, "only while: lamp", BASE)),
    Trio("never with", "on a toggle", option(_TOGGLE, "never with: lamp", BASE)),
    Trio("first", "on a toggle, with a time", option(_TOGGLE, "first: lamp for 2 s", BASE)),
    Trio(
        "remember",
        "on a toggle; the first with what keeps it",
        option(_TOGGLE, "remember: yes", BASE),
    ),
    Trio(
        "low battery",
        "a stage that sheds one function; the first with the sensed supply",
        grown({}, _stages(1), _stages(2), BASE, first(_TOGGLE), second(_TOGGLE)),
    ),
    Trio("step: states", "one more", grown(*map(_states, (1, 2, 3)), BASE)),
    Trio("step: back", "a position for it", option(_STEP, "back: deck key down", BASE)),
    Trio("sequence: steps", "one more wait", grown(*map(_steps, (0, 1, 2)), BASE)),
    Trio("dimmer: level", "as a stick says", option(_DIMMER, "level: wheel", BASE)),
    Trio("dimmer: fade", "up and down", option(_DIMMER, "fade up: 1 s, fade down: 2 s", BASE)),
    Trio("dimmer: flicker", "fire", option(_DIMMER, "flicker: fire", BASE)),
    Trio("follow: speed", "slower than the servo", option(_FOLLOW, "speed: 60 deg/s", BASE)),
    Trio("follow: curve", "40 %", option(_FOLLOW, "curve: 40 %", BASE)),
    Trio(
        "follow: mix",
        "another lever's share",
        option(_FOLLOW, "mix: {lever: 30 %}", BASE, _ANOTHER_LEVER),
    ),
    Trio(
        "follow: tied",
        "to another lever by a key",
        option(_FOLLOW, "tied: {with: lever, by: deck key up}", BASE, _ANOTHER_LEVER),
    ),
    Trio("follow: neutral first", "two seconds", option(_FOLLOW, "neutral first: 2 s", BASE)),
    Trio(
        "winch: ends",
        "one way, at a contact that is there",
        option(_WINCH, "ends: {raise: end stop closed}", BASE, _FEELING),
    ),
    Trio(
        "winch: stall",
        "at a sensor that is there",
        option(_WINCH, "stall: current above 1.2 V for 0.2 s", BASE, _FEELING),
    ),
    Trio("winch: duty", "25 % of 10 min", option(_WINCH, "duty: 25 % of 10 min", BASE)),
    Trio(
        "winch: unknown",
        "the first with what keeps it",
        option(_WINCH, "unknown: lower only", BASE),
    ),
    Trio("auto: longest", "60 s", option(_AUTO, "longest: 60 s", BASE)),
    Trio(
        "auto: by hand, stop",
        "two positions",
        option(_AUTO, "by hand: deck key up, stop: deck key down", BASE),
    ),
)

INPUTS = (
    Trio(
        "channel",
        "on a pin, with a key that a function obeys instead of another key",
        instead(_MOMENTARY, _OWN_KEY, BASE),
    ),
    Trio("stick", "in place of a key", instead(_OWN_KEY, _OWN_STICK, BASE)),
    Trio(
        "sum signal",
        "of eight places, one heard, in place of a channel on a pin; a further place heard",
        grown(
            {"channels": "keys 1: D5\nkeys 2: D6"},
            {"channels": "keys 2: D6", **_sum_signal("keys 1")},
            _sum_signal("keys 1", "keys 2"),
            BASE,
            first(_without_channel(_OWN_KEY)),
            second(_without_channel(_OWN_KEY)),
        ),
    ),
    Trio(
        "shared channel",
        "of eight slots, one heard, in place of a channel",
        instead(_OWN_KEY, _OWN_BOX, BASE),
    ),
    Trio(
        "slot",
        "a key in a slot that was not heard yet",
        instead(_MOMENTARY, _SLOT_KEY, BASE, _SWITCH_BOX),
    ),
    Trio("sensor: digital", "on which an auto acts", instead(_AUTO, _AUTO_BY_CONTACT, BASE)),
    Trio("sensor: analogue", "on which an auto acts", instead(_AUTO, _AUTO_BY_VOLTAGE, BASE)),
)

OUTPUTS = (
    Trio("relay", "one more that a step switches", grown(*map(_relays, (3, 4, 5)), BASE)),
    Trio(
        "servo by the processor",
        "and its follow, beside one by a timer",
        added(
            {**_FOLLOW, "outputs": "servo $n: {pin: $free, kind: servo}"},
            BASE,
            _named("spare", first(_FOLLOW)),
        ),
    ),
    Trio(
        "dimmer by the processor",
        "and its behaviour, beside one by a timer",
        added(
            {**_DIMMER, "outputs": "light $n: {pin: $free, kind: dimmer}"},
            BASE,
            _named("spare", first(_DIMMER)),
        ),
    ),
    Trio(
        "shift register",
        "of eight outputs, one used in place of a pin; a further one used",
        grown(
            {"outputs": "relay 1: A0\nrelay 2: A2", **_on("relay 1", "relay 2")},
            {"outputs": f"relay 2: A2\n{_shelf(8)}", **_on("shelf 1", "relay 2")},
            {"outputs": _shelf(8), **_on("shelf 1", "shelf 2")},
            BASE,
        ),
    ),
    Trio(
        "shift register: outputs",
        "eight more in its chain, none of them used",
        grown(*({"outputs": _shelf(n), **_on("shelf 1")} for n in (8, 16, 24)), BASE),
    ),
)
