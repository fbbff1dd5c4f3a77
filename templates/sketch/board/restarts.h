// Why the board was started, and how often since power came.
#pragma once
#include <stdint.h>

namespace restarts {

enum class Cause : uint8_t { power, brown_out, watchdog, external, asked, unknown };
constexpr uint8_t COUNTED = 5;

// Once a start: counts this one.
void start();

// Starts the board anew, now: the watchdog resets it, and the reset makes all outputs safe. It may begin
// as if nothing had been kept over power-off.
void restart(bool forget) __attribute__((noreturn));

// Before `start`: whether this start is one of these.
bool forgets();

Cause last();
uint8_t count(Cause cause);  // up to 255; those of an unknown cause are not counted

}  // namespace restarts
