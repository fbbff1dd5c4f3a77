"""Inputs that nobody means to write: what Pinrail reads must bear all of them. See __main__.py."""
