"""Faults on the whole sketch in the simulated chip: see __main__.py."""
