"""Changes the sketch's logic, the model and the plan one small thing at a time, and counts what the
tests notice: `python -m tests.mutants`."""
