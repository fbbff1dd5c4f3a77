// Notes of ticks that wait to be told: a ring of bytes that takes a note whole or not at all.
//
// A note is denser than the line that is made of it, and much quicker to write down.
#pragma once
#include "../logic/inline.h"
#include "../sizes.h"
#include <stdint.h>

class Notes {
 public:
  // A note begins with its tick. What was added after the last `keep` is forgotten.
  void begin() {
    end_ = kept_;
    full_ = false;
  }

  ONCE void add(uint8_t byte) {
    const uint8_t next = following(end_);
    if (next == begin_) {
      full_ = true;
      return;
    }
    bytes_[end_] = byte;
    end_ = next;
  }

  // High byte first, as numbers are written.
  ONCE void add_word(uint16_t word) {
    add(static_cast<uint8_t>(word >> 8));
    add(static_cast<uint8_t>(word));
  }

  // The note is complete. False if there was no room for all of it: then nothing is kept.
  bool keep() {
    if (!full_) {
      kept_ = end_;
    }
    return !full_;
  }

  bool empty() const { return begin_ == kept_; }

  ONCE uint8_t take() {
    const uint8_t byte = bytes_[begin_];
    begin_ = following(begin_);
    return byte;
  }

  ONCE uint16_t take_word() {
    const uint8_t high = take();
    return static_cast<uint16_t>(high << 8 | take());
  }

 private:
  static uint8_t following(uint8_t place) {
    return static_cast<uint8_t>(place + 1u < NOTES_BYTES ? place + 1u : 0u);
  }

  uint8_t bytes_[NOTES_BYTES] = {};
  uint8_t begin_ = 0;
  uint8_t kept_ = 0;
  uint8_t end_ = 0;
  bool full_ = false;
};

extern Notes notes;

// What stands in a note behind its tick (a word): heads, each with what belongs to it. The last one is
// END. A head says what follows in its upper three bits, and of which one in the others.
struct Head {
  static constexpr uint8_t END = 0 << 5;     // two words: the digest
  static constexpr uint8_t INPUT = 1 << 5;   // a word: a pulse's width
  static constexpr uint8_t SENSOR = 2 << 5;  // a word: what it reads
  static constexpr uint8_t LINES = 3 << 5;   // LINE_BYTES bytes, the last lines first
  static constexpr uint8_t SERVO = 4 << 5;   // a word: its width
  static constexpr uint8_t LIGHT = 5 << 5;   // a word: its duty

  static constexpr uint8_t FORCE = 6 << 5;   // two words: which function, and into what
  static constexpr uint8_t NO_FORCE = 7 << 5;

  static constexpr uint8_t KIND = 0xE0;
  static constexpr uint8_t WHICH = 0x1F;
};
static_assert(INPUTS <= 16 && SENSORS <= 26, "each has a letter");
static_assert(SERVOS <= Head::WHICH + 1 && LIGHTS <= Head::WHICH + 1, "five bits say which");
