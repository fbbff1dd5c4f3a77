"""Ship file -> Ship -> Plan -> sketch. Knows nothing of serial ports, models or pages."""

__version__ = "0.1.0"
