"""How much of the sketch's logic the test inputs reach: every branch, and every condition of every
decision on its own (MC/DC): `python -m tests.branches`."""
