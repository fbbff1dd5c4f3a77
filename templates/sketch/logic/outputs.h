// What the ship drives: the logic fills this in, the board layer puts it on the pins.
#pragma once
#include "../sizes.h"
#include "flash.h"
#include "inline.h"
#include "units.h"

// One digital output: its bit among all lines. Polarity is the board layer's business.
struct Line {
  uint8_t byte;
  uint8_t bit;
};

constexpr Line line(uint8_t index) {
  return { static_cast<uint8_t>(index / 8u), static_cast<uint8_t>(1u << (index % 8u)) };
}

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

// A light that can be dimmed.
struct Light {
  uint8_t index;
};

struct Outputs {
  uint8_t lines[LINE_BYTES];  // bit i % 8 of lines[i / 8] is set while line i is on
  HalfUs servos[SERVO_SLOTS];
  uint8_t levels[LIGHT_SLOTS];  // the duty of each light, of 255

  IN_PLACE void set(Line line, bool on) {
    uint8_t& byte = lines[line.byte];
    byte = static_cast<uint8_t>(on ? byte | line.bit : byte & ~line.bit);
  }

  // Several lines, listed in flash: bit i says whether the ith is on.
  ONCE void set_each(const Line* in_flash, uint8_t count, uint8_t on) {
    for (uint8_t i = 0; i != count; ++i) {
      set({ from_flash(&in_flash[i].byte), from_flash(&in_flash[i].bit) }, (on & 1u) != 0);
      on = static_cast<uint8_t>(on >> 1);
    }
  }

  IN_PLACE void set_level(Light light, uint8_t duty) { levels[light.index] = duty; }
};
