"""Trace files, one module a format."""
