// Why the board was started, and how often since power came.
#pragma once
#include <stdint.h>

namespace restarts {

enum class Cause : uint8_t { power, brown_out, watchdog, external, asked, unknown };
constexpr uint8_t COUNTED = 5;

// Once a start: counts this one.
void start();

// Starts the board anew, now: the watchdog resets it, and the reset makes all outputs safe.
void restart() __attribute__((noreturn));

Cause last();
uint8_t count(Cause cause);  // up to 255; those of an unknown cause are not counted

}  // namespace restarts
