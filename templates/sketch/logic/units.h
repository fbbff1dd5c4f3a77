// Time and width, as the whole sketch counts them.
#pragma once
#include <stdint.h>

// One tick is 5 ms. 32 bits of them last 248 days, longer than any battery.
typedef uint32_t Ticks;

// Pulse widths are in half microseconds, the grain of the timer that measures them.
typedef uint16_t HalfUs;

constexpr HalfUs us(uint16_t microseconds) { return static_cast<HalfUs>(2u * microseconds); }
constexpr HalfUs half_us(uint16_t halves) { return halves; }
