"""The page's own files: typed, small, and unable to turn a name into markup."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from tests.host_tools.bench.feed import FILES

MODULES = sorted(FILES.glob("*.js"))

MARKUP = re.compile(
    r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|DOMParser|createContextualFragment"
    r"|\beval\(|new Function\(|setAttribute\(\s*[\"']on|javascript:"
)


def test_the_modules_have_the_types_that_they_say() -> None:
    """JSDoc's types, held against each other by the compiler of TypeScript, which makes nothing."""
    done = subprocess.run(
        ["tsc", "--project", str(Path(__file__).with_name("tsconfig.json"))],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (0, "")


def test_nothing_can_turn_text_into_markup() -> None:
    for module in MODULES:
        assert MARKUP.findall(module.read_text(encoding="utf-8")) == [], module.name


def test_the_page_has_no_script_or_style_of_its_own() -> None:
    """A strict content security policy would drop it without a word to the reader."""
    text = (FILES / "index.html").read_text(encoding="utf-8")
    assert re.findall(r"<style|\bstyle=|\bon\w+=|<script(?![^>]*\bsrc=)", text) == []


def test_everything_comes_from_this_folder() -> None:
    for file in FILES.iterdir():
        text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert re.findall(r"https?://|@import|url\(", text) == [], file.name
        for name in re.findall(r"""(?:from|src=|href=)\s*["']\.?/?([\w-]+\.\w+)["']""", text):
            assert (FILES / name).is_file(), (file.name, name)


def test_each_module_is_small_and_says_what_it_is_for() -> None:
    for module in MODULES:
        lines = module.read_text(encoding="utf-8").splitlines()
        assert lines[0].startswith("// "), module.name
        assert len(lines) <= 340, (module.name, len(lines))


def test_what_the_page_loads_is_no_more_than_a_picture() -> None:
    """The first view comes in under a second from any disk, without a step that packs it."""
    assert sum(file.stat().st_size for file in FILES.iterdir()) < 150_000
