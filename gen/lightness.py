"""From how bright a light looks to how long it has to be on.

The eye sees half the light as three quarters of the brightness. A fade in even steps of duty rushes
at its dark end; in even steps of CIE 1931 lightness it looks even (CIE 15, 8.2.1: L* = 116 Y^(1/3)
- 16, and L* = 903.3 Y where L* is at most 8). Brightness and duty are both 0 to 255 here.
"""

from __future__ import annotations

from fractions import Fraction

FULL = 255
_LINEAR_BELOW = 8
_LINEAR = Fraction(9033, 10)


def _duty(brightness: int) -> int:
    lightness = Fraction(100 * brightness, FULL)
    dark = lightness <= _LINEAR_BELOW
    luminance = lightness / _LINEAR if dark else ((lightness + 16) / 116) ** 3
    return max(int(luminance * FULL + Fraction(1, 2)), min(brightness, 1))


DUTIES = tuple(_duty(brightness) for brightness in range(FULL + 1))
"""The duty of each brightness. The darkest ones are 1, not 0: a light that is on can be seen."""


def brightness_of(percent_in_hundredths: int) -> int:
    """The brightness nearest to a percentage given in hundredths of a percent."""
    return (percent_in_hundredths * FULL + 5_000) // 10_000
