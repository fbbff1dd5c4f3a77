"""Upload: a compiled sketch into a board, by avrdude through the board's boot loader.

`avrdude` runs it and says in a few words what it had to say; `loader_port` finds the port of a boot
loader that has one of its own; `writing` writes, and knows at each moment what the board holds.
"""
