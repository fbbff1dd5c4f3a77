"""The electrical sums for machines: every record as an object, every figure with its unit."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

from gen.diagnostics import Place
from host_tools.electrical.figure import Figure, Given, Refused


def as_json(value: Any) -> Any:
    """A record, and all that is in it, as JSON has it. What a figure was made from is left out:
    `--explain` tells that. What never ends is null."""
    if isinstance(value, Figure):
        return {
            "of": value.of,
            "what": value.what,
            "value": value.value if math.isfinite(value.value) else None,
            "unit": value.unit,
            "formula": value.formula,
            "source": value.source,
        }
    if isinstance(value, Refused):
        return {"what": value.what, "refused": value.why}
    if isinstance(value, Given):
        return {"name": value.name, "value": value.value, "unit": value.unit}
    if isinstance(value, Place):
        return {"line": value.line, "col": value.col}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name.rstrip("_"): as_json(getattr(value, field.name))
            for field in dataclasses.fields(value)
        }
    if isinstance(value, tuple | list):
        return [as_json(one) for one in value]
    return value
