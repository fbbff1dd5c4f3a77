"""A sum signal on a wire, edge by edge, as a logic analyser saves it (VCD, IEEE 1364)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class SumWire:
    """`frame_us` is fixed: the pause behind the last channel is what is left of it. `lost` is the
    share of frames in which one separator is missed, so that the rest moves to lower channels."""

    seed: int
    places: int = 8
    frame_us: float = 22_000
    separator_us: float = 400
    separator_high: bool = True
    noise_us: float = 0.4
    lost: float = 0.0
    frames: int = 600

    def edges_us(self) -> list[tuple[float, int]]:
        """When the wire changes, and to which level."""
        dice = np.random.default_rng(self.seed)
        on, off = (1, 0) if self.separator_high else (0, 1)
        edges = [(0.0, off)]
        for frame in range(self.frames):
            at = 1000.0 + frame * self.frame_us
            widths = np.full(self.places, 1504.0) + dice.normal(0, self.noise_us, self.places)
            if 150 <= frame < 450:  # the first stick goes from end to end and rests between
                widths[0] = (991.0, 1504.0, 2016.0, 1504.0)[frame // 40 % 4]
            begins = [at, *(at + np.cumsum(widths)).tolist()]
            if dice.random() < self.lost:
                del begins[int(dice.integers(1, self.places))]
            for begin in begins:
                edges += [(begin, on), (begin + self.separator_us, off)]
        return edges

    def vcd(self) -> str:
        """The file."""
        rows = [f"#{round(at * 10)}\n{level}!" for at, level in self.edges_us()]
        head = (
            "$timescale 100 ns $end\n$scope module top $end\n"
            "$var wire 1 ! receiver $end\n$upscope $end\n$enddefinitions $end\n"
        )
        return head + "\n".join(rows) + "\n"
