"""Names: safe in comments, unique and free in C++."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.names import CodeNames, check_code, check_text, fold
from gen.reserved import CPLUSPLUS, LIBRARIES, SKETCH, reserved_by
from gen.resources import resource
from gen.units import Wrong

CORE = Path("/usr/share/arduino/hardware/arduino/avr")
CHIPS = [
    ("atmega328p", "eightanaloginputs"),
    ("atmega2560", "mega"),
    ("atmega32u4", "micro"),
]
HEADERS = [
    *("Arduino.h", "avr/wdt.h", "avr/sleep.h", "avr/eeprom.h", "util/delay.h", "util/atomic.h"),
    *("util/crc16.h", "stdio.h", "stdlib.h", "string.h", "math.h", "ctype.h", "errno.h"),
    *("inttypes.h", "assert.h"),
]


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("deck lights", "deck_lights"),
        ("Foredeck  Key", "foredeck_key"),
        ("Bülow's crane, 2nd", "bulow_s_crane_2nd"),
        ("Ægir", "aegir"),
        ("Straße", "strasse"),
        ("12 V pump", "n12_v_pump"),
        ("_lamp_", "lamp"),
        ("⚓ windlass", "windlass"),
        ("Łódź", "lodz"),
    ],
)
def test_folding(name: str, code: str) -> None:
    assert fold(name) == code


@pytest.mark.parametrize("name", ["Прожектор", "灯", "12", "…", "lamp Б", "mmλ"])
def test_what_would_lose_a_letter_is_not_folded(name: str) -> None:
    with pytest.raises(Wrong) as caught:
        fold(name)
    assert caught.value.code == "name-not-latin"


@given(st.text(max_size=30))
def test_a_folded_name_is_an_identifier(name: str) -> None:
    try:
        code = fold(name)
    except Wrong:
        return
    assert re.fullmatch(r"[a-z](_?[a-z0-9])*", code)
    assert fold(code) == code


@given(st.text(max_size=70))
def test_a_name_that_passes_is_safe_in_a_comment_and_a_template(name: str) -> None:
    try:
        check_text(name)
    except Wrong:
        return
    assert name.splitlines() == [name]
    assert not any(sign in name for sign in ("*/", "/*", "//", "{{", "{%", "{#", '"', "'", "\\"))
    assert not any(sign in name for sign in "<>`\t")
    assert name == name.strip()


@pytest.mark.parametrize(
    "name",
    ["", " ", " a", "a ", "a  b", "a\nb", "a\x00", "a\u202eb", "a\u200bb", "a\u2028b", "??/"],
)
def test_what_is_no_name(name: str) -> None:
    with pytest.raises(Wrong):
        check_text(name)


@pytest.mark.parametrize("code", ["a", "deck_lights", "n12_v"])
def test_code_names(code: str) -> None:
    assert check_code(code) == code


@pytest.mark.parametrize("code", ["", "A", "1a", "_a", "a__b", "a-b", "ä", "a" * 61, "a b"])
def test_what_is_no_code_name(code: str) -> None:
    with pytest.raises(Wrong):
        check_code(code)


@pytest.mark.parametrize(
    "code", ["switch", "int", "and", "setup", "delay", "min", "unix", "y1", "report", "key_bands_2"]
)
def test_taken_words(code: str) -> None:
    with pytest.raises(Wrong) as caught:
        CodeNames().claim(code, "function 'x' in line 1")
    assert caught.value.code == "reserved-name"


def test_the_second_owner_is_told_of_the_first() -> None:
    codes = CodeNames()
    codes.claim("lamp", "output 'Lamp' in line 3")
    codes.claim("lamp", "output 'Lamp' in line 3")
    with pytest.raises(Wrong, match="would be lamp in the sketch, as is the output 'Lamp' in line"):
        codes.claim("lamp", "function 'lamp' in line 9")


@pytest.mark.parametrize(("mcu", "variant"), CHIPS)
def test_every_word_that_the_headers_take_is_reserved(
    mcu: str, variant: str, tmp_path: Path
) -> None:
    """Macros, and every lower-case word of the headers that a compiler refuses as an object."""
    compiler = shutil.which("avr-g++")
    assert compiler is not None
    command = [compiler, f"-mmcu={mcu}", "-DF_CPU=16000000L", "-DARDUINO=10807", "-std=gnu++11"]
    command += ["-DUSB_VID=1", "-DUSB_PID=2", "-DDECIMAL_DIG=__DECIMAL_DIG__", "-Os"]
    command += [f"-I{CORE}/cores/arduino", f"-I{CORE}/variants/{variant}"]
    source = tmp_path / "all.cpp"
    includes = "".join(f"#include <{header}>\n" for header in HEADERS)
    source.write_text(includes, encoding="utf-8")

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        line = [*command, *arguments, str(source)]
        return subprocess.run(line, capture_output=True, text=True, check=False)

    macros = set(re.findall(r"^#define ([a-z]\w*)", run("-dM", "-E").stdout, re.MULTILINE))
    words = sorted(set(re.findall(r"\b[a-z][a-z0-9_]*\b", run("-E", "-P").stdout)) - macros)
    lines = ["struct Thing { int v; };", *(f"extern Thing {word};" for word in words)]
    source.write_text(includes + "\n".join(lines) + "\n", encoding="utf-8")
    told = run("-Wall", "-Wextra", "-fmax-errors=0", "-c", "-o", str(tmp_path / "x.o")).stderr
    first = len(HEADERS) + 2
    numbers = {int(n) for n in re.findall(rf"^{re.escape(str(source))}:(\d+):", told, re.MULTILINE)}
    refused = {words[number - first] for number in numbers if number >= first}
    assert len(refused) > 200
    taken = {word for word in macros | refused if re.fullmatch(r"[a-z][a-z0-9_]*", word)}
    assert {word for word in taken if not reserved_by(word)} == set()


def test_the_names_of_the_generated_files_are_reserved() -> None:
    """What the sketch's generated files call by name must not be a ship's own word."""
    code = ""
    templates = sorted((resource("templates") / "sketch").glob("*.j2"))
    assert len(templates) >= 3
    for path in templates:
        code += path.read_text(encoding="utf-8")
    code = re.sub(r"//[^\n]*|\{\{.*?\}\}|\{%.*?%\}|#[^\n]*", " ", code)
    code = re.sub(r"static constexpr [^;]*;", " ", code)  # members, found before any global name
    words = set(re.findall(r"(?<![.:\w])[a-z][a-z0-9_]*\b", code))
    typed = {"uint8_t", "uint16_t"}
    assert words - CPLUSPLUS - LIBRARIES - SKETCH - typed == set()


def test_the_global_functions_of_the_sketch_are_reserved() -> None:
    """Functions of the logic core stand in the same namespace as a ship's own names."""
    found = set()
    for folder in ("logic", "behaviours"):
        for path in (resource("templates") / "sketch" / folder).iterdir():
            text = path.read_text(encoding="utf-8")
            found |= set(
                re.findall(
                    r"^(?:IN_PLACE |ONCE )?[a-z][\w:<>&* ]* [&*]?([a-z]\w*)\(", text, re.MULTILINE
                )
            )
    assert {"us", "half_us", "run"} <= found
    assert {name for name in found if not reserved_by(name)} == set()


def test_keywords_of_the_standard() -> None:
    assert {"alignas", "char16_t", "constexpr", "nullptr", "xor_eq", "thread_local"} <= CPLUSPLUS
    assert not CPLUSPLUS & LIBRARIES
