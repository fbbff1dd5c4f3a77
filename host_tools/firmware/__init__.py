"""The third rung: the whole sketch, compiled for the chip, in a simulated chip with real pulses."""

from host_tools.firmware.rung import FirmwareFault, FirmwareRung

__all__ = ["FirmwareFault", "FirmwareRung"]
