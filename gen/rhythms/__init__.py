"""Light and sound patterns: what a person writes, as times in ticks.

`read_rhythm` knows five ways to write one; each has a module of its own:

    Fl(2) 10s                              lights.py   characters of the light lists
    00.8+(02.2)+00.8+(05.2)                times.py    times as electronic charts write them
    on 0.5 s, off 4.5 s                    times.py    the same in plain words
    morse SOS at 12 wpm                    morse.py    ITU-R M.1677-1
    blasts prolonged short every 2 min     sounds.py   signals of the COLREGs
"""

from gen.rhythms.pattern import Pattern, Span
from gen.rhythms.reader import read_rhythm

__all__ = ["Pattern", "Span", "read_rhythm"]
