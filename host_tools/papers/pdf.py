"""The page of papers as a PDF."""

from __future__ import annotations

import logging
from typing import Any

from gen.toolchain import MissingTool


def pdf(html: str) -> bytes:
    """The PDF of a page, the same bytes for the same page and typefaces.

    Raises MissingTool (`no-pdf`) without the library, or without the libraries that it calls.
    """
    try:
        import weasyprint  # noqa: PLC0415 - an extra, and slow to load
    except ImportError as error:
        if (error.name or "").partition(".")[0] != "weasyprint":
            raise
        raise MissingTool(
            "no-pdf",
            "the library that makes PDFs is not installed",
            "pip install 'pinrail[papers]', or print papers.html from a browser",
        ) from None
    except OSError as error:
        raise MissingTool(
            "no-pdf",
            f"a library that makes PDFs is not installed ({str(error).splitlines()[0]})",
            "install Pango, or print papers.html from a browser",
        ) from None
    # It warns of every rule that is for browsers only.
    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    made: Any = weasyprint.HTML(string=html, url_fetcher=_NothingFromOutside())
    return bytes(made.write_pdf())


class _NothingFromOutside:
    """Papers hold all that they need; what a name would have fetched is left out."""

    _fail_on_errors = False  # the library asks its own fetchers for this

    def __call__(self, url: str, *_: Any, **__: Any) -> Any:
        raise ValueError(f"papers need nothing from outside, not {url}")
