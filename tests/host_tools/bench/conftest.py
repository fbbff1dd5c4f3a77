"""A browser for the tests of the bench's page: Debian's, driven by Playwright."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect, sync_playwright

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

CHROMIUM = "/usr/bin/chromium"

ARGUMENTS = (
    "--no-sandbox",  # the tests may run as root, and the pages are our own
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    # It is to look for nothing in the network.
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

PATIENCE_MS = 30_000
"""How long a test waits for what must come; a busy machine is slow, and nothing waits in vain."""

expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all tests of a file. Not for longer: while it is there no other test in this
    process can have a loop of its own."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page of its own for each test. Nothing may be said in its console and nothing thrown."""
    context = browser.new_context(viewport={"width": 1920, "height": 1080})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda message: wrong.append(message.text))
    yield page
    context.close()
    assert wrong == []
