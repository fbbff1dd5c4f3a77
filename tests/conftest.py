"""How hypothesis looks for counterexamples: without a clock, for a busy machine is no mistake; and
the same ones every time on a check that must not depend on luck."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("look", deadline=None)
settings.register_profile("check", deadline=None, derandomize=True)
settings.load_profile("check" if os.environ.get("CI") else "look")
