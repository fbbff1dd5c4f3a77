"""Every code that a message can carry: what it means and what to do.

The codes are stable: scripts may rely on them. `templates/guide/errors.md` is made from this table.
"""

from __future__ import annotations

from typing import NamedTuple


class Code(NamedTuple):
    """`about` says whose mistake it tells of: one in the ship file ("ship"), in its rules ("rule"),
    in a trial's steps ("trial"), in the electrical sums made from it ("power"), in a trace
    ("trace"), on the link to a board ("link"), or a matter of files and programs ("tools")."""

    about: str
    meaning: str
    remedy: str


CODES: dict[str, Code] = {
    # The file as a whole
    "cannot-read": Code(
        "ship",
        "The file cannot be read.",
        "Check its name and its permissions.",
    ),
    "not-utf8": Code(
        "ship",
        "The file is not UTF-8 text.",
        "Save it as UTF-8 in your editor.",
    ),
    "too-large": Code(
        "ship",
        "The file is larger than 128 KiB, or holds more than 20000 keys and values.",
        "A ship file is a few pages long; this is another file.",
    ),
    "many-problems": Code(
        "ship",
        "A hundred mistakes were found, and no more were looked for.",
        "Mend what is told first; much of the rest may follow from it.",
    ),
    "too-deep": Code(
        "ship",
        "Keys lie more than 20 levels deep.",
        "Close the brackets, or straighten the indentation.",
    ),
    "tab": Code(
        "ship",
        "A tab stands where spaces belong: how wide a tab is, no two editors agree.",
        "Let the editor put spaces for tabs.",
    ),
    "unseen-character": Code(
        "ship",
        "A character that cannot be seen, so that a line may not be what it looks like.",
        "Delete it; it usually came with text copied from a page.",
    ),
    "not-yaml": Code(
        "ship",
        "The text is not YAML.",
        "Look at the line named and the one before: indentation, a missing colon, an open"
        " bracket or quote.",
    ),
    "two-documents": Code(
        "ship",
        "A second document begins with `---`.",
        "One file, one ship.",
    ),
    "tag": Code(
        "ship",
        "A YAML tag such as `!!int`.",
        "Leave it out; units say what a value is.",
    ),
    "anchor": Code(
        "ship",
        "A YAML anchor or alias (`&name`, `*name`).",
        "Write the value again, or put a text that begins with `*` or `&` in quotes.",
    ),
    "not-a-map": Code(
        "ship",
        "The file holds no keys.",
        "Begin with `ship:` and the ship's name; `pinrail new` writes one to start from.",
    ),
    "bad-key": Code(
        "ship",
        "A key is not a plain text.",
        "Put a name that begins with `[`, `{` or `?` in quotes.",
    ),
    "duplicate-key": Code(
        "ship",
        "The same key stands twice in one place; one of them would be lost.",
        "Rename or remove one.",
    ),
    # Keys and values
    "unknown-key": Code(
        "ship",
        "A key that has no meaning here.",
        "See the hint, and the tables of keys in the guide.",
    ),
    "missing-key": Code(
        "ship",
        "A key that is needed is not there.",
        "Add it.",
    ),
    "not-yet": Code(
        "ship",
        "A key that is planned and that this version does not know.",
        "Leave it out for now.",
    ),
    "wrong-kind": Code(
        "ship",
        "A text where keys belong, a list where a text belongs, or nothing at all.",
        "See what was expected; check the indentation.",
    ),
    "wrong-count": Code(
        "ship",
        "Too many or too few entries.",
        "See what was expected.",
    ),
    "unknown-word": Code(
        "ship",
        "Only a few words are possible here, and this is none of them.",
        "Take one of those named.",
    ),
    "wrong-number": Code(
        "ship",
        "No number, a signed number or a decimal comma.",
        "Write digits with a decimal point, then the unit.",
    ),
    "wrong-unit": Code(
        "ship",
        "The unit is missing or belongs to another quantity.",
        "Write the unit after the number.",
    ),
    "wrong-range": Code(
        "ship",
        "No band of pulse widths.",
        "Write two widths with two dots between: `900..1300 us`.",
    ),
    "wrong-grain": Code(
        "ship",
        "A pulse width between two steps of the board's timer.",
        "Round it to half a microsecond.",
    ),
    "out-of-range": Code(
        "ship",
        "The value is smaller or larger than makes sense here.",
        "See the bounds in the message.",
    ),
    "upside-down": Code(
        "ship",
        "A band ends before it begins.",
        "Write the lower width first; to turn a servo round, use `reverse: yes`.",
    ),
    # Names
    "bad-name": Code(
        "ship",
        "A name holds something that could end a comment or a text in the sketch, or that"
        " cannot be seen.",
        "Leave that out of the name.",
    ),
    "name-too-long": Code(
        "ship",
        "A name is too long for tables and papers.",
        "Shorten it.",
    ),
    "name-not-latin": Code(
        "ship",
        "A name has letters that the sketch's language does not know.",
        "Keep the name, and add `code name:` with a word in Latin letters.",
    ),
    "bad-code-name": Code(
        "ship",
        "A code name is no identifier.",
        "Use lower-case letters, digits and single `_`, a letter first.",
    ),
    "reserved-name": Code(
        "ship",
        "In the sketch, the name would be a word that C++, its libraries or the sketch "
        "itself has taken.",
        "Rename it, or add `code name:`.",
    ),
    "same-code": Code(
        "ship",
        "Two things would have the same name in the sketch. Names are compared without "
        "case, accents and signs.",
        "Rename one (a function `horn` on an output `horn relay`), or add `code name:`.",
    ),
    "same-column": Code(
        "ship",
        "A trace has a column for each channel and sensor, and two would have the same name.",
        "Rename one.",
    ),
    "unknown-name": Code(
        "ship",
        "There is nothing of this name.",
        "See the hint; names are compared letter by letter.",
    ),
    "ambiguous-name": Code(
        "ship",
        "Two controls and positions can be meant.",
        "Rename a control or a position.",
    ),
    # Board and pins
    "unknown-board": Code(
        "ship",
        "There is no such board.",
        "Take one of those named.",
    ),
    "unknown-pin": Code(
        "ship",
        "The board has no such pin.",
        "Use the label printed on the board.",
    ),
    "pin-twice": Code(
        "ship",
        "Two things are on the same pin.",
        "Move one.",
    ),
    "pin-reserved": Code(
        "ship",
        "The board needs this pin for itself.",
        "Take another.",
    ),
    "pin-analogue": Code(
        "ship",
        "The pin can only measure a voltage.",
        "Take a digital pin.",
    ),
    "pin-no-measure": Code(
        "ship",
        "An analogue sensor's pin must be one that can measure a voltage.",
        "Take one of the pins named.",
    ),
    "pin-no-interrupt": Code(
        "ship",
        "A channel's pin must be able to interrupt the processor at each edge, and this "
        "one cannot.",
        "Take one of the pins named in the hint.",
    ),
    "timer-taken": Code(
        "ship",
        "The pin belongs to a timer that is taken for the servos on pins without one.",
        "Move a servo as the hint says.",
    ),
    "too-many-servos": Code(
        "ship",
        "More servos than the board can time.",
        "Use pins of 16-bit timers first, or a larger board.",
    ),
    "no-blank": Code(
        "ship",
        "A warning: shift registers begin with any levels at power-up, and nothing keeps them from "
        "their outputs until the program has started.",
        "Put all their output enables on a pin, `blank:`, with a resistor to 5 V.",
    ),
    "too-many-dimmers": Code(
        "ship",
        "More dimmers than the board can make by timers and the processor.",
        "Use pins of free timers, or switch some of the lights as a whole.",
    ),
    "too-many-lines": Code(
        "ship",
        "More than 64 digital outputs.",
        "Use a second board.",
    ),
    "pin-current": Code(
        "ship",
        "A pin would carry more than destroys it.",
        "Put a transistor or a relay board between; `draws` is the current of the pin "
        "itself, not of the load.",
    ),
    "pin-current-high": Code(
        "ship",
        "A warning: a pin carries more than its voltage is guaranteed at.",
        "Check that what it drives still switches, or put a transistor between.",
    ),
    "group-current": Code(
        "ship",
        "Pins that share a supply inside the chip would carry more than it may.",
        "Move some to other ports, or use inputs that draw less.",
    ),
    "chip-current": Code(
        "ship",
        "All pins together would carry more than the chip's supply pins may.",
        "Use inputs that draw less, or driver chips.",
    ),
    # Sensors
    "wrong-divider": Code(
        "ship",
        "No pair of resistors.",
        "Write the one to the voltage first, then the one to 0 V: `47k/10k`.",
    ),
    "weak-divider": Code(
        "ship",
        "A warning: the divider's resistors are so large that the chip cannot measure through "
        "them in time.",
        "Take smaller ones in the same proportion, or put 100 nF from the pin to 0 V.",
    ),
    "too-many-sensors": Code(
        "ship",
        "More voltages than the chip can measure between two ticks.",
        "Use digital sensors where a yes or no is enough.",
    ),
    "never-felt": Code(
        "ship",
        "A level that the sensor can never read, or that it always reads.",
        "Compare it with the divider: at the pin it must lie between 0 V and the board's supply.",
    ),
    "wrong-sensor": Code(
        "ship",
        "A voltage is asked of a digital sensor, or open and closed of an analogue one.",
        "See what was expected.",
    ),
    "not-sensed": Code(
        "ship",
        "The battery that is to be watched is not measured, or there are several.",
        "Give its supply `sensed on:` with a measuring pin.",
    ),
    "wrong-stage": Code(
        "ship",
        "A stage of a low battery is no `below` and a voltage, or lies above where it recovers.",
        "Write `below 11.4 V for 5 s:` and set `recovers` higher.",
    ),
    "shed-twice": Code(
        "ship",
        "A function stands in two stages of a low battery.",
        "Leave it in the first one.",
    ),
    # Receiver and controls
    "lost-band": Code(
        "ship",
        "A band that tells a lost signal holds no valid pulse, or leaves none for anything else.",
        "Set it a little inside `valid`.",
    ),
    "band-outside": Code(
        "ship",
        "A band reaches outside of what counts as a pulse.",
        "Narrow it, or widen `valid`.",
    ),
    "band-lost": Code(
        "ship",
        "A position or an end lies where pulses mean a lost signal.",
        "Begin the band where the lost band ends.",
    ),
    "half-shared": Code(
        "ship",
        "A shared channel needs both its number of slots and its marker.",
        "Write `shares: 8 slots` and `marker: below 950 us`, as your transmitter does it.",
    ),
    "marker-band": Code(
        "ship",
        "The marker of a shared channel and what its slots say cannot be told apart.",
        "Move the marker's width away from the slots' and from the lost band.",
    ),
    "slot-or-not": Code(
        "ship",
        "A control on a shared channel has a slot, and no other control has one.",
        "Add `slot: ` and its number, or say that the channel is shared.",
    ),
    "pin-of-two": Code(
        "ship",
        "A channel of the sum signal has a pin of its own.",
        "Delete its pin, or take it out of the sum signal's list.",
    ),
    "twice-in-sum": Code(
        "ship",
        "A channel stands twice in the sum signal's list.",
        "Each place of the frame is another channel; write `unused` for one that nobody needs.",
    ),
    "gap-short": Code(
        "ship",
        "A valid pulse could be as long as the pause that ends a frame.",
        "Make the gap longer (frames of eight channels leave 3 ms and more), or `valid` narrower.",
    ),
    "band-overlap": Code(
        "ship",
        "Two positions share pulse widths.",
        "Leave a gap between them.",
    ),
    "no-rest": Code(
        "ship",
        "No position is known to ask for nothing.",
        "Add `rest:` with the position in which the control stands by itself.",
    ),
    "hysteresis-wide": Code(
        "ship",
        "The hysteresis is so wide that a position, once taken, reaches the middle of its"
        " neighbour.",
        "Reduce it, or set the bands further apart.",
    ),
    "not-proportional": Code(
        "ship",
        "A key or switch has no value that could be followed.",
        "Give the control `kind: stick` or `kind: knob`.",
    ),
    # Functions
    "no-behaviour": Code(
        "ship",
        "A function does not say how it answers its control.",
        "Add one of the behaviours named.",
    ),
    "two-behaviours": Code(
        "ship",
        "A function names two behaviours.",
        "Make two functions, or remove one.",
    ),
    "asks-at-rest": Code(
        "ship",
        "A function would be asked for while the control is at rest.",
        "Name another position, or another `rest`.",
    ),
    "same-position": Code(
        "ship",
        "Both ways of a winch are asked for by the same position: it would never run.",
        "Name two positions.",
    ),
    "wrong-output": Code(
        "ship",
        "The output is of a kind that this behaviour cannot drive.",
        "See what was expected.",
    ),
    "driven-twice": Code(
        "ship",
        "Two functions drive the same output.",
        "Give each its own output.",
    ),
    "ways-differ": Code(
        "ship",
        "The two ways of a winch are not those of its pair.",
        "Use the same two words in the pair, the winch and its limits.",
    ),
    "unknown-rhythm": Code(
        "ship",
        "No light or sound pattern is written like this.",
        "Write one as the guide shows: a character of a light list, times, Morse text or blasts.",
    ),
    "rhythm-rule": Code(
        "ship",
        "A pattern breaks a rule of its kind: a quick light that is too slow, times that do not"
        " add up to the period, a fog signal too seldom.",
        "See what was expected; a list of times may be anything.",
    ),
    "same-state": Code(
        "ship",
        "Two states of a step have the same outputs on, so that nobody could tell them apart.",
        "Change one, or leave it out.",
    ),
    "not-off": Code(
        "ship",
        "The first state of a step has something on, and it would be on at power-up and without a"
        " signal.",
        "Put a state with `nothing` first.",
    ),
    "sequence-step": Code(
        "ship",
        "A step of a sequence is written in a way that is not known.",
        "See what was expected.",
    ),
    "never-off": Code(
        "ship",
        "A sequence leaves something on at its end, and nothing ever switches it off.",
        "Add `abort:` with a position, or a last step that ends in `off`.",
    ),
    "depends-on-itself": Code(
        "ship",
        "Functions depend on each other in a circle: none could be decided first.",
        "Remove one of the conditions on the path that the message shows.",
    ),
    "no-group": Code(
        "ship",
        "A group has fewer than two functions.",
        "Name two or more behind `never together` or `both is stop`.",
    ),
    "remember-moves": Code(
        "ship",
        "Something that moves would start by itself when the power comes.",
        "Leave `remember` out: press it on again.",
    ),
    "remember-nothing": Code(
        "ship",
        "There is nothing to remember: it is on while something else is so, or ends by itself.",
        "Leave `remember` out.",
    ),
    "names-itself": Code(
        "ship",
        "A function is kept from running together with itself.",
        "Name another one.",
    ),
    "unused": Code(
        "ship",
        "Something is declared and nothing uses it; perhaps a name is misspelt.",
        "Use it, or remove it.",
    ),
    "supply-loop": Code(
        "ship",
        "A supply is fed, in the end, from itself.",
        "Begin with a battery that has no `from`.",
    ),
    "wrong-supply": Code(
        "ship",
        "A supply says what does not fit together: a battery has no `from`, a regulator is fed by a"
        " supply and has a voltage of its own.",
        "See what was expected.",
    ),
    "wrong-load": Code(
        "ship",
        "A load does not say what it draws, or says it twice; or a function has both `load` and"
        " `loads`.",
        "Give each load either `draws` or `leds`, and write several loads under `loads`.",
    ),
    "wrong-drum": Code(
        "ship",
        "A drum's sizes cannot be so.",
        "The line is thinner than the drum is wide, the flange larger than the drum.",
    ),
    "wrong-contacts": Code(
        "ship",
        "A connector's contacts do not suffice, or one is taken twice.",
        "Take another contact, leave out a spare one, or use a larger connector.",
    ),
    "driver-full": Code(
        "ship",
        "More outputs on a driver chip than it has.",
        "Add another one under `drivers`.",
    ),
    "leds-dark": Code(
        "power",
        "LEDs in a row need more voltage than their supply has.",
        "Put fewer in a row and more strings side by side, each with its resistor.",
    ),
    "leds-unsteady": Code(
        "power",
        "A warning: LEDs in a row take nearly all of their supply's voltage, so that they go dim as"
        " soon as it falls.",
        "Put one fewer in a row.",
    ),
    "driver-output": Code(
        "power",
        "An output of a driver chip carries more than it bears.",
        "Let it switch a relay or a transistor, and that the load.",
    ),
    "driver-hot": Code(
        "power",
        "A driver chip becomes too hot with all of its outputs that may be on at once.",
        "Share them out over two chips, or forbid some to be on together.",
    ),
    "clamp-supply": Code(
        "power",
        "A driver chip's common pin is on another supply than what it switches: if on a lower one,"
        " current finds its way through the clamp diodes, and what is off stays on; as a warning:"
        " the diodes are without their supply when its fuse has blown.",
        "Put the common pin on the supply of the coils, and coils of another one on a chip of their"
        " own.",
    ),
    "sense-high": Code(
        "power",
        "A full battery puts more on its measuring pin than the pin bears; as a warning: more than"
        " can be measured.",
        "Take the divider that the message proposes.",
    ),
    "drum-full": Code(
        "power",
        "A winch's line does not fit between the flanges of its drum; as a warning: only if it is"
        " laid turn by turn.",
        "Take a wider drum, larger flanges, thinner or less line.",
    ),
    "few-wraps": Code(
        "power",
        "A warning: so few turns stay on a winch's drum that the line's knot bears the load.",
        "Let at least three turns stay: `kept wraps: 3`, and that much more line.",
    ),
    "limit-long": Code(
        "power",
        "A warning: a winch may run longer than its travel takes, into the turns that are kept.",
        "Write the limit that `pinrail power` proposes, or fit an end switch.",
    ),
    "limit-past-end": Code(
        "power",
        "A winch may run so long that its line comes to an end: it winds on the other way round, or"
        " tears what it hauls.",
        "Write the limit that `pinrail power` proposes.",
    ),
    "duty-short": Code(
        "power",
        "A warning: a winch's `duty` stops it before its travel is done.",
        "Take a motor with more duty, a quicker gearbox, or live with a rest on the way.",
    ),
    "no-voltage": Code(
        "ship",
        "A supply that is fed by none has no voltage.",
        "Add `voltage:`.",
    ),
    # The electrical sums
    "no-fuse": Code(
        "power",
        "Nothing protects wires that a battery can set on fire.",
        "Put a fuse next to the battery: `fuse: auto`. ISO 10133 wants it within reach of the"
        " battery's positive pole, before everything else.",
    ),
    "fuse-too-large": Code(
        "power",
        "A fuse lets through more than something behind it bears: a wire, a relay's contact, a"
        " connector's contact.",
        "Take a smaller fuse or a thicker wire, or give what is thin a fuse of its own.",
    ),
    "fuse-too-small": Code(
        "power",
        "A warning: what a fuse carries for long is more than three quarters of its rating.",
        "Take the next larger one, if what is behind it bears that.",
    ),
    "fuse-unfit": Code(
        "power",
        "No fuse carries the load and still protects what is behind it.",
        "Use a thicker wire, a stronger contact or several contacts.",
    ),
    "fuse-surge": Code(
        "power",
        "A warning: a fuse may blow when its load is switched on.",
        "Take a slow one (`fuse kind: glass slow`), or a larger one with a thicker wire.",
    ),
    "fuse-order": Code(
        "power",
        "A warning: a fuse is no larger than one behind it, so that a single fault may darken all.",
        "Take a larger one if its wire bears it, or smaller ones behind it.",
    ),
    "fuse-missing": Code(
        "power",
        "A warning: a circuit of little current has no fuse of its own, so that its wire must be as"
        " thick as the large fuse before it needs.",
        "Give it `fuse: auto`.",
    ),
    "stall-unseen": Code(
        "power",
        "A warning: a motor that is held fast may burn: no run limit stops it and its fuse need not"
        " blow.",
        "Take a smaller fuse, or sense its current with `stall:`.",
    ),
    "wire-too-thin": Code(
        "power",
        "A wire carries more than it may by the column that is used.",
        "Take a thicker one, or lay it singly and say `ampacity: free air`.",
    ),
    "wire-drop": Code(
        "power",
        "A warning: more voltage is lost on wires than is allowed.",
        "Take a thicker wire or a shorter way. ISO 10133 allows 3 % for navigation lights and"
        " pumps.",
    ),
    "no-such-wire": Code(
        "power",
        "None of the wires that you have will do.",
        "Add a thicker one to `have:` under `wires:`, or use a smaller fuse.",
    ),
    "regulator-overloaded": Code(
        "power",
        "A regulator would have to give more than it can.",
        "Use a larger one, share the load between two, or let a rule keep functions apart.",
    ),
    "regulator-hot": Code(
        "power",
        "A warning: a linear regulator burns so much that it becomes too hot without a heat sink.",
        "Give it one, or take a switching regulator.",
    ),
    "relay-overloaded": Code(
        "power",
        "A relay's contact or a transistor switches more than it may.",
        "Use a stronger one, or share the load between two functions.",
    ),
    "relay-stalled": Code(
        "power",
        "A warning: a motor that is held fast draws more than the contact that switches it may"
        " carry.",
        "Use a stronger one, or a fuse that opens before the contact suffers.",
    ),
    "contact-overloaded": Code(
        "power",
        "A contact of a connector carries more than it may while so many others are loaded.",
        "Lead it over two contacts, or use a stronger connector.",
    ),
    "few-returns": Code(
        "power",
        "The contacts that lead all current back carry more than they may: this is how connectors"
        " burn.",
        "Give it more `returns:`, or leave it `auto`; contacts that are spare can become returns.",
    ),
    "battery-current": Code(
        "power",
        "A warning: the worst current is so large for the battery that nobody can say how long it"
        " lasts.",
        "Use a larger battery, or let rules keep large loads apart.",
    ),
    # Trials
    "unknown-step": Code(
        "trial",
        "A step of a trial begins with a word that no step begins with.",
        "Take one of the words named; the guide lists the steps.",
    ),
    "step-shape": Code(
        "trial",
        "A step of a trial says too little, too much, or something that cannot be done.",
        "See what was expected; the guide shows each step.",
    ),
    "rule-words": Code(
        "rule",
        "A rule is written in no way that is known.",
        "Write it as one of the three that the message names.",
    ),
    "step-order": Code(
        "trial",
        "A step stands where it cannot.",
        "Only what moves a control, sets a sensor or loses the signal can come before `power up`, "
        "which comes once; a trial lasts a day at most.",
    ),
    # Trace files
    "not-a-trace": Code(
        "trace",
        "The file is not a trace, or one of a later format.",
        "A trace begins with `# pinrail trace 1`.",
    ),
    "trace-header": Code(
        "trace",
        "A line of the trace's header is unknown, missing, given twice or has a value "
        "that it cannot have.",
        "Compare it with a trace that Pinrail wrote.",
    ),
    "trace-cell": Code(
        "trace",
        "A cell of the trace is no tick, width or state, or stands where none belongs.",
        "Ticks never fall; widths are microseconds such as 1500 or 1500.5; cells are "
        "separated by tabs.",
    ),
    "trace-large": Code(
        "trace",
        "The trace is larger than anything that is recorded: in bytes, columns, cells, or ticks.",
        "Cut it into parts that are replayed one after the other.",
    ),
    "trace-cut": Code(
        "trace",
        "The trace ends early: its last line is not `# end`.",
        "Copy or record it again; a part of what happened is missing.",
    ),
    "other-channels": Code(
        "trace",
        "The trace's channels are not those of the ship file.",
        "Replay it with the ship file that it was made with, or rename its columns.",
    ),
    # Learning a radio
    "learn-nothing": Code(
        "trace",
        "There is no receiver's pulse in the recording.",
        "Switch transmitter and receiver on; their signal wires go to pins that can listen.",
    ),
    "learn-short": Code(
        "trace",
        "The recording is too short to learn from.",
        "Record a minute; `pinrail learn --port PORT` says what to do meanwhile.",
    ),
    "learn-still": Code(
        "trace",
        "Nothing moves in the recording, so that no end and no position is known.",
        "Move everything to each of its ends twice while you record.",
    ),
    "learn-contradicts": Code(
        "trace",
        "The recording contradicts itself, or the steps that were named for it.",
        "Record that step again, and move only what it names.",
    ),
    "learn-into": Code(
        "trace",
        "The ship file is laid out so that nothing can be put into it without touching more.",
        "Paste the sections by hand; `pinrail learn` without `--into` prints them.",
    ),
    "learn-not-agreed": Code(
        "tools",
        "A file of yours would have been changed without anybody having said yes.",
        "Answer `yes`, or give `--yes`.",
    ),
    # Files written, and the command line
    "usage": Code(
        "tools",
        "The command line cannot be understood.",
        "Ask the command for its `--help`.",
    ),
    # The link to a board
    "which-port": Code(
        "link",
        "No port was named, and there is not exactly one board on USB.",
        "Plug one in, or name its port after `--port`; `pinrail bench` lists them.",
    ),
    "port-missing": Code(
        "link",
        "There is no such port.",
        "`pinrail bench` lists the ports that are there.",
    ),
    "port-denied": Code(
        "link",
        "You may not use this port.",
        "On Linux, join the group that may: `sudo usermod -aG dialout $USER`, then log out and in"
        " again.",
    ),
    "port-busy": Code(
        "link",
        "Another program holds the port.",
        "Close the desktop tool's serial window, or whatever else listens to the board.",
    ),
    "port-gone": Code(
        "link",
        "The port went away in the middle: the cable was pulled, or the board lost its power.",
        "Plug it in again; what had arrived by then is kept.",
    ),
    "port-silent": Code(
        "link",
        "Nothing is heard from the board, or no answer comes.",
        "Is it the right port, and does the board run a sketch that Pinrail made? Press its reset"
        " button and try again.",
    ),
    "port-babble": Code(
        "link",
        "Something talks on this port, but not as a board of Pinrail's: another device, another"
        " sketch or another speed.",
        "`pinrail bench` lists the ports; the link is 115200 baud, 8 data bits, no parity.",
    ),
    "other-board": Code(
        "link",
        "The sketch is for another board than the one at the port.",
        "Change `board:` in the ship file, or plug in the right board; nothing was written.",
    ),
    "loader-silent": Code(
        "link",
        "The board's boot loader does not answer, so that nothing can be written.",
        "Is it the right port and the right kind of board? Pull its plugs from D0 and D1, press its"
        " reset button as the upload begins, and try again.",
    ),
    "not-verified": Code(
        "link",
        "What was read back from the board is not what was written.",
        "Upload again with a shorter cable; if it stays so, the chip's memory is worn or damaged.",
    ),
    "not-written": Code(
        "link",
        "avrdude, which writes sketches into boards, failed in the middle.",
        "Plug the board in again, and upload again.",
    ),
    "other-plan": Code(
        "link",
        "The board runs another plan than this ship file says.",
        "Upload this ship file's sketch, or find the file that it was made from with `pinrail"
        " identify --in FOLDER`.",
    ),
    "other-ship": Code(
        "link",
        "The trace was recorded on another ship; a real one is not moved by it.",
        "Replay it on the model first; to play it all the same, change the `# ship:` line.",
    ),
    "bench-off": Code(
        "link",
        "The board takes no inputs and no forces from here.",
        "Write `bench: yes` or `bench: {jumper: D12}` in the ship file, and upload its sketch.",
    ),
    "board-refused": Code(
        "link",
        "The board would not do it.",
        "The message says which rule forbids it.",
    ),
    "not-agreed": Code(
        "link",
        "Something that moves would have been forced without anybody having said yes.",
        "Answer `yes`, or give `--yes` when you are sure that nothing and nobody is in its way.",
    ),
    "other-kept": Code(
        "link",
        "The trace begins with something kept over power-off, and the board keeps something else.",
        "Replay it on the model: a board keeps only what it has done itself.",
    ),
    "receiver-heard": Code(
        "link",
        "The board hears its receiver, so that what is played would begin in the middle.",
        "Switch the receiver off, or pull its plugs, and try again.",
    ),
    "line-damaged": Code(
        "link",
        "Lines were lost on the way to the board or from it, so that what it did cannot be judged.",
        "Try a shorter cable, or another USB socket.",
    ),
    "not-a-repository": Code(
        "link",
        "The folder is not under version control with git.",
        "Name the folder in which the ship files are kept; `git init` makes it one.",
    ),
    "no-git": Code(
        "tools",
        "git is not installed.",
        "Install it; on Debian `sudo apt install git`.",
    ),
    "exists": Code(
        "tools",
        "A file is there already, and is not overwritten.",
        "Move it away, or choose another folder with `--out DIR`.",
    ),
    "not-ours": Code(
        "tools",
        "A folder that would be replaced holds something that Pinrail did not write, or "
        "wrote and somebody changed.",
        "Move that away, or choose another folder with `--out DIR`.",
    ),
    "cannot-write": Code(
        "tools",
        "A file cannot be written.",
        "Check the folder's permissions and the room on the disk.",
    ),
    "no-pictures": Code(
        "tools",
        "The library that draws pictures is not installed.",
        "Install it: `pip install 'pinrail[plot]'`.",
    ),
    "no-pdf": Code(
        "tools",
        "The library that makes PDFs, or Pango, which it calls, is not installed.",
        "Install it: `pip install 'pinrail[papers]'`; or print `papers.html` from a browser.",
    ),
    "no-solver": Code(
        "tools",
        "The solver that proves things about a ship is not installed.",
        "Install it: `pip install 'pinrail[prove]'`.",
    ),
    "no-avrdude": Code(
        "tools",
        "avrdude, which writes sketches into boards, is not installed or does not run.",
        "Install it, or put its folder on the PATH.",
    ),
    "no-compiler": Code(
        "tools",
        "No compiler for the boards is installed.",
        "Install one of the two that the message names.",
    ),
    "no-simulator": Code(
        "tools",
        "The simulated chip cannot be built here.",
        "Install the packages that the message names.",
    ),
    "cache-unsafe": Code(
        "tools",
        "Programs that Pinrail made for itself lie where another user may have put others.",
        "Remove the folder named, or name one of your own in `PINRAIL_CACHE`.",
    ),
    "no-core": Code(
        "tools",
        "The board makers' core is not where it was looked for.",
        "Install it, or give its folder after `--core`.",
    ),
    "rung-unavailable": Code(
        "tools",
        "This computer lacks what a rung needs to run.",
        "The message says what, and how to get it.",
    ),
    "rung-fault": Code(
        "tools",
        "The logic or the firmware did what nothing may do: it hung, was reset or misread a pulse.",
        "Please report it with the ship file and the trace.",
    ),
    "internal": Code(
        "tools",
        "A fault in Pinrail itself; nothing that you wrote should be able to cause it.",
        "Please report it with the ship file, and what the same command prints with "
        "`PINRAIL_DEBUG=1` in the environment.",
    ),
}
