// A sensor: what the ship feels, and what is believed of it.
#pragma once
#include "inline.h"
#include "units.h"

class Sensor {
 public:
  constexpr Sensor() : value_(NOT_FELT) {}

  // Whether it is from `low` to `high`, both included; not before it was read.
  IN_PLACE bool felt(uint16_t low, uint16_t high) const { return value_ >= low && value_ <= high; }

 protected:
  static constexpr uint16_t NOT_FELT = 0xFFFF;

  uint16_t value_;
};

// A voltage, in counts of the board's supply, smoothed. What it read first is where it begins.
class Voltage : public Sensor {
 public:
  constexpr Voltage() : level_(0) {}

  // In each tick it goes a share of the way to its reading, and all the way if the share is 0.
  ONCE void feel(uint16_t counts, uint16_t share_per_65536) {
    const uint32_t reading = static_cast<uint32_t>(counts) << 16;
    uint32_t level = level_;
    if (share_per_65536 == 0 || value_ == NOT_FELT) {
      level = reading;
    } else if (reading > level) {
      level += part(reading - level, share_per_65536);
    } else {
      level -= part(level - reading, share_per_65536);
    }
    level_ = level;
    value_ = static_cast<uint16_t>((level + 0x8000u) >> 16);
  }

 private:
  // A difference of less than 1/16 count is none, so that the product fits 32 bits; and the chip moves
  // whole words faster than bits.
  static uint32_t part(uint32_t difference, uint16_t share_per_65536) {
    const uint16_t sixteenths = static_cast<uint16_t>(difference << 4 >> 16);
    return static_cast<uint32_t>(sixteenths) * share_per_65536 >> 4;
  }

  Long level_;  // in 1/65536 counts; the value is the nearest count
};

// A contact, 1 while closed. It must be still for a time before a change is believed.
class Contact : public Sensor {
 public:
  constexpr Contact() : count_(0) {}

  ONCE void feel(bool closed, uint8_t debounce_ticks) {
    if (value_ == NOT_FELT) {
      value_ = closed;
    }
    if (closed == (value_ != 0)) {
      count_ = 0;
      return;
    }
    ++count_;
    if (count_ >= debounce_ticks) {
      value_ = closed;
      count_ = 0;
    }
  }

 private:
  uint16_t count_;
};
