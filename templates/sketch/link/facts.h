// What the link knows of the board beside its ticks. The texts of words.h name each by a character.
#pragma once
#include <stdint.h>

// Whether there is such an item; some ships have none of a kind.
constexpr bool is_below(uint8_t item, uint8_t count) { return item < count; }

// How the board answers a line of the host's. The reasons for a no stand in words.h.
enum class Answer : uint8_t { none, ok, order, word, bench, arm, rule, range };

namespace facts {

// In the order of their characters; 10 is the end of a line.
enum : uint8_t {
  TICKS = 11,  // since the board was started
  LOST,        // pulses for which there was no room, and ticks in which edges came too fast
  LONGEST_US,  // tick
  BAD,         // lines from the host
  DROPPED,     // lines that there was no room for
  LATE,        // ticks that ended when the next one was due
  FLASH_BYTES,
  RAM_BYTES,   // of variables; the stack comes on top
  POWER,       // how often the board was started, since power came, by what
  BROWN_OUT,
  WATCHDOG,
  EXTERNAL,
  ASKED,
  ANSWERED,    // the number of the host's line, in hexadecimal
  FIRST_WORD,
  CAUSE = FIRST_WORD,  // of the last start
  REASON,      // why not
  KEPT,        // over power-off, as it was found at the start: bytes in hexadecimal
  MAY_BENCH,   // whether the bench may work this ship now
};

// Both are the board layer's.
uint32_t number(uint8_t fact);
const char* word(uint8_t fact);  // in flash
const uint8_t* kept();           // KEPT_BYTES, or nullptr

}  // namespace facts
