"""The model: a plan executed in Python, exact to the bit and fast.

`engine.py` is the tick; `receiver.py` holds channels and controls; `behaviours/` one file a
behaviour; `thin.py` leaves out pulses that can change nothing, for long replays.
"""

from host_tools.model.engine import Model

__all__ = ["Model"]
