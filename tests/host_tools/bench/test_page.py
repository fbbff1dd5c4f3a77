"""The bench as a builder meets it: the command, the page, the ship's answers."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Error, expect

from host_tools.cli.ships import starters
from tests.host_tools.bench.feed import ORIGIN
from tests.host_tools.bench.served import COMMAND, served
from tests.host_tools.papers.nasty import LONGEST, SCRIPTS, TAG, nasty

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Locator, Page


def _starter(name: str) -> Path:
    return starters()[name]


@pytest.fixture(scope="module")
def tender() -> Iterator[str]:
    """The tender's address; each test finds it at rest, for a page that goes lets go of all."""
    with served(_starter("tender")) as address:
        yield address


def _open(page: Page, address: str) -> None:
    page.goto(address)
    page.locator(".function").first.wait_for()
    expect(page.locator("#fact-signal")).to_contain_text("heard on all channels")


def _function(page: Page, name: str) -> Locator:
    return page.locator(".function", has=page.locator(f".name:text-is('{name}')")).locator(".state")


def _control(page: Page, name: str) -> Locator:
    return page.locator("#controls").get_by_role("group", name=name, exact=True)


def _key(page: Page, control: str, position: str) -> Locator:
    return _control(page, control).get_by_role("button", name=position, exact=True)


def test_a_new_user_comes_from_the_demo_to_the_deck_lights(
    page: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With nothing but Python, as somebody is who has just installed it."""
    monkeypatch.setenv("PATH", str(tmp_path))
    out = tmp_path / "demo"
    done = subprocess.run(
        [*COMMAND, "demo", "tender", "--out", str(out)],
        capture_output=True,
        text=True,
        check=True,
    )
    told = next(line for line in done.stdout.splitlines() if "pinrail bench" in line)
    file = Path(told.partition("pinrail bench ")[2].partition(":")[0])
    assert file == out / "tender.yaml"
    with served(file) as address:
        _open(page, address)
        expect(page.get_by_role("heading", level=1)).to_contain_text("Skerry Maid")
        expect(page.locator("#fact-where")).to_contain_text("simulated model")
        expect(page.locator("#fact-plan")).to_contain_text("the file's")
        lights = _function(page, "deck lights")
        expect(lights).to_have_text("off")
        # What to press is said beside it.
        expect(page.locator("#functions")).to_contain_text("deck key up")
        _key(page, "deck key", "up").click(delay=200)
        expect(lights).to_have_text("on")
        expect(page.locator(".output", has_text="deck relay").locator(".state")).to_have_text("on")
        expect(page.locator("#log")).to_contain_text("deck lights on")


def test_every_kind_of_control_is_worked(page: Page, tender: str) -> None:
    _open(page, tender)
    # A row of buttons, held with the mouse; it springs back.
    _key(page, "button row", "five").hover()
    page.mouse.down()
    expect(_function(page, "horn")).to_have_text("on")
    expect(_key(page, "button row", "five")).to_have_attribute("aria-pressed", "true")
    page.mouse.up()
    expect(_function(page, "horn")).to_have_text("off")
    # A lever with bands of its own, held with the keyboard: what is left of its travel runs down.
    _key(page, "davit lever", "lower").focus()
    page.keyboard.down("Space")
    expect(_function(page, "davit")).to_have_text("lowering")
    expect(page.locator(".counts", has_text="lower")).to_contain_text("of 4.0 s")
    page.keyboard.up("Space")
    expect(_function(page, "davit")).to_have_text("stopped")
    # A knob stays where it is put, by keys.
    knob = page.get_by_role("slider", name="light knob")
    knob.focus()
    page.keyboard.press("End")
    expect(_control(page, "light knob")).to_contain_text("100 %")
    # A stick is pulled and springs back.
    wheel = page.get_by_role("slider", name="wheel")
    box = wheel.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"], box["y"] + box["height"] / 2, steps=3)
    expect(_control(page, "wheel")).to_contain_text("100 %")
    expect(_function(page, "rudder")).to_have_text("away")
    page.mouse.up()
    expect(_control(page, "wheel")).to_contain_text("50 %")
    expect(_function(page, "rudder")).to_have_text("at rest")


def test_a_finger_works_it_too(page: Page, tender: str) -> None:
    assert page.context.browser is not None
    context = page.context.browser.new_context(
        viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True
    )
    phone = context.new_page()
    _open(phone, tender)
    # To jump to a part of the page is no other address: the link stays.
    phone.get_by_role("link", name="Functions", exact=True).tap()
    before = _function(phone, "work lights").inner_text()
    _key(phone, "deck key", "down").tap()
    expect(_function(phone, "work lights")).to_have_text("on" if before == "off" else "off")
    _key(phone, "deck key", "down").tap()
    expect(_function(phone, "work lights")).to_have_text(before)
    expect(phone.locator("#fact-where")).to_contain_text("simulated model")
    context.close()


def test_the_signal_is_lost_and_comes_back(page: Page, tender: str) -> None:
    _open(page, tender)
    _key(page, "button row", "six").hover()
    page.mouse.down()
    expect(_function(page, "fire pump")).to_have_text("on")
    page.mouse.up()
    page.get_by_role("button", name="Lose signal").click()
    expect(page.locator("#fact-signal")).to_contain_text("lost")
    expect(page.locator(".channel").first).to_contain_text("lost")
    expect(_function(page, "fire pump")).to_have_text("off")
    expect(_function(page, "anchor light")).to_have_text("on")
    expect(page.locator("#log")).to_contain_text("signal lost on")
    page.get_by_role("button", name="Signal returns").click()
    expect(page.locator("#fact-signal")).to_contain_text("heard on all channels")


def _hold_forced(page: Page, function: str) -> None:
    """Arms and holds. Three hundred milliseconds without a sign of life disarm, as they must; where
    a busy machine takes that long over a click it is armed anew."""
    page.get_by_role("button", name="Force …", exact=True).click()
    page.get_by_role("button", name=f"Force {function} …").click()
    panel = page.get_by_role("region", name="Force", exact=True)
    for _ in range(20):
        panel.get_by_role("checkbox").check()
        try:
            panel.get_by_role("button", name="Arm").click(timeout=1000)
            panel.get_by_role("button", name="Hold for on").hover(timeout=1000)
            page.mouse.down()
            expect(_function(page, function)).to_have_text("on", timeout=3000)
        except (AssertionError, Error):
            page.mouse.up()
            continue
        return
    raise AssertionError(panel.inner_text())


def test_a_force_is_held_and_released(page: Page, tender: str) -> None:
    _open(page, tender)
    _hold_forced(page, "fire pump")
    page.mouse.up()
    expect(_function(page, "fire pump")).to_have_text("off")
    expect(page.locator("#log")).to_contain_text("fire pump is armed")
    expect(page.locator("#log")).to_contain_text("the force of fire pump has ended")


def test_a_force_ends_when_its_page_goes(page: Page, tender: str) -> None:
    _open(page, tender)
    other = page.context.new_page()
    _open(other, tender)
    _hold_forced(other, "fire pump")
    expect(_function(page, "fire pump")).to_have_text("on")
    other.close()
    expect(_function(page, "fire pump")).to_have_text("off")


def test_what_was_done_is_saved_replayed_and_tried(page: Page, tmp_path: Path) -> None:
    """A recording becomes a trace that the command line replays, and a trial that passes."""
    file = tmp_path / "tender.yaml"
    file.write_text(_starter("tender").read_text(encoding="utf-8"), encoding="utf-8")
    with served(file) as address:
        _open(page, address)
        # A trial of the file is watched to its end; it leaves the deck lights off, as they began.
        page.get_by_role("button", name="Run it").click()
        expect(page.locator("#trial-verdict")).to_contain_text("Passed", timeout=30_000)
        page.locator("#record").click()
        expect(page.locator("#record")).to_have_attribute("aria-pressed", "true")
        lights = _function(page, "deck lights")
        _key(page, "deck key", "up").click()
        expect(lights).to_have_text("on")
        page.locator("#record").click()
        expect(page.locator("#keep-what")).to_have_value("recording")
        page.get_by_label("Name").fill("evening")
        page.get_by_role("button", name="Save as trace").click()
        expect(page.locator("#keep-said")).to_contain_text("Saved: ")
        page.get_by_role("button", name="Save as trial").click()
        page.get_by_role("button", name="Yes, do it").click()
        expect(page.locator("#keep-said")).to_contain_text("In the ship file now")
        # The page follows its file, which has one trial more.
        page.locator("#trial-name").select_option("evening")
        page.get_by_role("button", name="Run it").click()
        expect(page.locator("#trial-verdict")).to_contain_text("Passed", timeout=30_000)
        replayed = subprocess.run(
            [*COMMAND, "replay", str(file), str(tmp_path / "evening.trace")],
            capture_output=True,
            text=True,
            check=True,
        )
    assert "deck lights: " in replayed.stdout
    assert "deck lights" not in replayed.stdout.partition("throughout:")[2]


def test_hostile_names_are_words(page: Page, tmp_path: Path) -> None:
    """As hostile as a ship file allows; what it does not allow is tried with the paper feed."""
    with served(nasty(tmp_path)) as address:
        page.goto(address)
        page.locator(".function").first.wait_for()
        for name in (TAG, LONGEST, *SCRIPTS[:1]):
            expect(page.locator("#controls")).to_contain_text(name)
        assert page.evaluate("document.documentElement.scrollWidth") == 1920


def test_the_page_follows_the_file(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "tender.yaml"
    good = _starter("tender").read_text(encoding="utf-8")
    file.write_text(good, encoding="utf-8")
    with served(file) as address:
        _open(page, address)
        file.write_text(good.replace("toggle: deck key up", "toggle: dek key up"), encoding="utf-8")
        expect(page.locator("#file-notice")).to_contain_text("did you mean 'deck key up'?")
        file.write_text(good.replace("deck lights", "foredeck lights"), encoding="utf-8")
        expect(_function(page, "foredeck lights")).to_have_text("off")
        expect(page.locator("#file-notice")).to_be_hidden()


def test_without_the_token_there_is_no_bench(page: Page, tender: str) -> None:
    address, _, token = tender.partition("#")
    page.goto(address)
    expect(page.get_by_role("alert")).to_contain_text("that pinrail bench has printed")
    # Of a stream that is refused the browser speaks in its console: another page, where it may.
    other = page.context.new_page()
    other.goto(address)
    assert _connects(other, address, "wrong" + token) == REFUSED
    assert _connects(other, address, token) == OPENED


def test_another_pages_origin_gets_nowhere(page: Page, tender: str) -> None:
    """A page of another server in the same browser, which somehow knows the token. It is on this
    computer too, so that it is we who refuse it and not the browser."""
    address, _, token = tender.partition("#")
    other = page.context.new_page()
    other.route(f"{ORIGIN}/", lambda route: route.fulfill(body="<p>hello"))
    other.goto(f"{ORIGIN}/")
    assert _connects(other, address, token) == REFUSED


OPENED = 0
REFUSED = 1006
"""RFC 6455, 7.4.1: closed without a word, as a page sees a handshake that was answered with 403."""


def _connects(page: Page, address: str, token: str) -> int:
    """OPENED, or the code with which the stream was closed before it was open."""
    code = page.evaluate(
        """([address, token]) => new Promise((resolve) => {
          const socket = new WebSocket(address, ["pinrail-bench", token]);
          socket.onopen = () => { socket.close(); resolve(0); };
          socket.onclose = (event) => resolve(event.code);
        })""",
        [address.replace("http:", "ws:") + "stream", token],
    )
    return int(code)
