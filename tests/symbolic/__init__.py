"""Runs the sketch's own C++ on all numbers at once: no overflow, no access out of range,
invariants kept.

clang writes each subject (`subjects/`) down in its intermediate language for the chip, where `int`
has 16 bits, unoptimised, with a trap wherever C++ leaves a result open. `machine` executes that
text with unknowns in place of numbers; the solver shows that no trap, no access outside of an
object and no broken promise can be reached.
"""
