"""The ship file as a JSON Schema (draft 2020-12), so that editors complete and check it.

Made from the declarations in gen/ship.py and gen/behaviours/, like everything else that knows keys.
It says what can be said without looking names up; `pinrail check` says the rest.
"""

from __future__ import annotations

import json

from gen.read.keys import record_schema
from gen.ship import Ship


def ship_schema() -> str:
    """The schema as the text of its file."""
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Pinrail ship file",
        **record_schema(Ship),
    }
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
