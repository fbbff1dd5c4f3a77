// What the ship drives: the logic fills this in, the board layer puts it on the pins.
#pragma once
#include "../sizes.h"
#include "units.h"

// One digital output, by its place in the list; polarity is the board layer's business.
struct Line {
  uint8_t index;
};

// Two lines that turn one motor two ways.
struct Pair {
  Line first;
  Line second;
};

struct Servo {
  uint8_t index;
  HalfUs low;
  HalfUs high;
  HalfUs rest;
};

struct Outputs {
  uint8_t lines[LINE_BYTES];  // bit i % 8 of lines[i / 8] is set while line i is on
  HalfUs servos[SERVO_SLOTS];

  void set(Line line, bool on) {
    const uint8_t bit = static_cast<uint8_t>(1u << (line.index % 8u));
    uint8_t& byte = lines[line.index / 8u];
    byte = static_cast<uint8_t>(on ? byte | bit : byte & ~bit);
  }
};
