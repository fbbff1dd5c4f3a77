"""Learn a radio from what its receiver was heard to say.

    trace, steps ──▶ train (one channel's pulses) ──▶ frames, noise, levels
                                │                          │
                     cycle, profile (a shared channel)     ├──▶ kinds ──▶ bands
                                │                          │
                     totals (a sum signal)             loss ──▶ learned ──▶ text, ship file, picture

Every threshold comes from the trace itself, or is a probability of being wrong that stands beside
its statistic. What is not plain is said to be not sure, and is not guessed.
"""
