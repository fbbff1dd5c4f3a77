"""Proofs: what a plan can and cannot do, for every movement of every thumb, for ever.

`algebra.py` are the few operations in which a tick is written down; `encoding/` writes down the
tick with them, one file a subject with the names of `host_tools/model`; `rung.py` steps that very
text with plain integers against the model; the rest proves things about it.
"""
