"""Brightness as the eye has it: CIE 15 (Colorimetry), section 8.2.1, lightness L* of 1976, which
keeps the curve of 1931 reflectances; Y/Yn = 0.184 at L* = 50 is the textbook value."""

from __future__ import annotations

from gen.lightness import DUTIES, FULL, brightness_of


def lightness(duty: float) -> float:
    """L* of a luminance, as the standard has it."""
    luminance = duty / FULL
    if luminance <= (6 / 29) ** 3:
        return (29 / 3) ** 3 * luminance
    return float(116 * luminance ** (1 / 3) - 16)


def test_half_the_brightness_is_less_than_a_fifth_of_the_light() -> None:
    assert abs(DUTIES[brightness_of(5_000)] / FULL - 0.184) < 0.004


def test_each_duty_is_the_nearest_to_its_lightness() -> None:
    for brightness, duty in enumerate(DUTIES):
        wanted = 100 * brightness / FULL
        others = {max(duty - 1, 0), duty, min(duty + 1, FULL)}
        if duty > 1:
            assert min(others, key=lambda d: abs(luminance(wanted) - d / FULL)) == duty


def luminance(wanted: float) -> float:
    return wanted / 903.3 if wanted <= 8 else ((wanted + 16) / 116) ** 3


def test_a_fade_never_goes_back_and_ends_at_the_ends() -> None:
    assert DUTIES[0] == 0
    assert DUTIES[-1] == FULL
    assert list(DUTIES) == sorted(DUTIES)
    assert min(DUTIES[1:]) == 1
    assert abs(lightness(DUTIES[-1]) - 100) < 1e-9


def test_percentages() -> None:
    assert [brightness_of(p) for p in (0, 5_000, 10_000)] == [0, 128, FULL]
