"""Where things are kept that can always be made again."""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


def cache_folder() -> Path:
    """This user's cache: $PINRAIL_CACHE, or where the system keeps such things."""
    if own := os.environ.get("PINRAIL_CACHE"):
        return Path(own)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home())) / "pinrail"
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "pinrail"


def made_once(kind: str, key: Iterable[bytes], make: Callable[[Path], None]) -> Path:
    """The folder that `make` filled for this key, now or at some time before.

    Safe when several processes want it at once: each fills a folder of its own, and the first one
    to finish gives its own the final name.
    """
    digest = hashlib.sha256()
    for part in key:
        digest.update(len(part).to_bytes(8, "big") + part)
    folder = cache_folder() / f"{kind}-{digest.hexdigest()[:16]}"
    if folder.is_dir():
        return folder
    folder.parent.mkdir(parents=True, exist_ok=True)
    draft = Path(tempfile.mkdtemp(prefix=f"{folder.name}.", dir=folder.parent))
    try:
        make(draft)
        draft.rename(folder)
    except OSError:
        if not folder.is_dir():
            raise
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return folder
