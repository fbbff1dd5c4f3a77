// Tells one line after another, a character at a time: `SS kind token … CCCC`.
//
// SS numbers the lines, CCCC is the CRC of all before the space in front of it. What a line says comes
// from a tick's note or from a text in flash, in which a character below the space stands for a number
// or a word that is looked up when its turn comes.
#pragma once
#include "crc.h"
#include "decimal.h"
#include "facts.h"
#include "notes.h"
#include "../logic/units.h"
#include "words.h"

class Teller {
 public:
  void tell_who() { who_ = words::WHO; }
  void tell_tally() { tally_is_due_ = true; }

  // The answer to a line of the host's, if there is one yet. Of several that wait the last one is told;
  // but none that says no gives way to one that says yes.
  void answer(uint8_t number, Answer answer) {
    if (answer > Answer::ok || (answer == Answer::ok && answer_ <= Answer::ok)) {
      answer_ = answer;
      answered_ = number;
    }
  }

  // The next character, or 0 if there is nothing to tell. Takes 30 us at most.
  uint8_t next() {
    const uint8_t character = find_next();
    crc_ = crc_with(crc_, character);
    return character;
  }

 private:
  enum class Part : uint8_t {
    nothing, begin, text, tick, heads, lines, width, value, digest, digest_ends, end, over,
#ifdef KEEPER
    kept
#endif
  };

  // A line is made of parts. Each part puts down what it says as a text, a letter, a number in decimal
  // and one in hexadecimal, said in this order, and which part comes next.
  uint8_t find_next() {
    for (;;) {
      while (text_ != nullptr) {
        if (const uint8_t character = next_of_text()) {
          return character;
        }
      }
      if (const uint8_t character = letter_) {
        letter_ = 0;
        return character;
      }
      if (decimal_.is_left()) {
        return decimal_.digit();
      }
      if (half_) {
        half_ = false;
        text_ = words::HALF;
        continue;
      }
      if (hex_digits_ != 0) {
        return next_of_hex();
      }
      if (part_ == Part::nothing && !begin_line()) {
        return 0;
      }
      begin_part();
    }
  }

  ONCE void begin_part() {
    switch (part_) {
      case Part::nothing:
        break;
      case Part::begin:
        say_hex(static_cast<uint16_t>(number_ << 8), 2);
        ++number_;
        part_ = source_ != nullptr ? Part::text : Part::tick;
        break;
      case Part::text:
        text_ = source_;
        part_ = Part::end;
        break;
      case Part::tick:
        text_ = words::TICK;
        say_hex(notes.take_word(), 4);
        part_ = Part::heads;
        break;
      case Part::heads:
        begin_head(notes.take());
        break;
      case Part::lines:
        say_hex(static_cast<uint16_t>(notes.take() << 8), 2);
        --left_;
        part_ = left_ != 0 ? Part::lines : Part::heads;
        break;
      case Part::width:
        text_ = words::COLON;
        say_width();
        part_ = Part::heads;
        break;
      case Part::value:
        text_ = words::COLON;
        decimal_.begin(notes.take_word());
        part_ = Part::heads;
        break;
      case Part::digest:
        say_hex(notes.take_word(), 4);
        part_ = Part::digest_ends;
        break;
      case Part::digest_ends:
        say_hex(notes.take_word(), 4);
        part_ = Part::end;
        break;
#ifdef KEEPER
      case Part::kept:
        say_hex(static_cast<uint16_t>(facts::kept()[KEPT_BYTES - left_] << 8), 2);
        --left_;
        part_ = left_ != 0 ? Part::kept : Part::text;
        break;
#endif
      case Part::end:
        text_ = words::SPACE;
        say_hex(crc_, 4);
        part_ = Part::over;
        break;
      case Part::over:
        letter_ = '\n';
        part_ = Part::nothing;
        break;
    }
  }

  void begin_head(uint8_t head) {
    const uint8_t which = head & Head::WHICH;
    text_ = words::SPACE;
    switch (head & Head::KIND) {
      case Head::INPUT:
        letter_ = static_cast<uint8_t>('a' + which);
        say_width();
        break;
      case Head::SENSOR:
        letter_ = static_cast<uint8_t>('A' + which);
        decimal_.begin(notes.take_word());
        break;
      case Head::LINES:
        letter_ = 'x';
        left_ = LINE_BYTES;
        part_ = Part::lines;
        break;
      case Head::SERVO:
        letter_ = 's';
        decimal_.begin(which);
        part_ = Part::width;
        break;
      case Head::LIGHT:
        letter_ = 'u';
        decimal_.begin(which);
        part_ = Part::value;
        break;
#ifdef BENCH
      case Head::FORCE:
        letter_ = 'w';
        decimal_.begin(notes.take_word());
        part_ = Part::value;
        break;
      case Head::NO_FORCE:
        text_ = words::NO_FORCE;
        break;
#endif
      default:
        letter_ = 'z';
        part_ = Part::digest;
        break;
    }
  }

  // Chooses what to tell. Ticks go first, for they are many and there is little room for them; but
  // after so many of them it is somebody else's turn.
  static constexpr uint8_t TICKS_IN_A_ROW_MOST = 16;

  ONCE bool begin_line() {
    const bool others_wait = answer_ != Answer::none || tally_is_due_ || who_ != nullptr;
    if (!notes.empty() && !(others_wait && in_a_row_ == TICKS_IN_A_ROW_MOST)) {
      in_a_row_ = static_cast<uint8_t>(in_a_row_ + (in_a_row_ < TICKS_IN_A_ROW_MOST));
      source_ = nullptr;
    } else if (answer_ != Answer::none) {
      source_ = answer_ == Answer::ok ? words::OK : words::NO;
      reason_ = answer_;
      answer_ = Answer::none;
    } else if (tally_is_due_) {
      source_ = words::TALLY;
      tally_is_due_ = false;
    } else if (who_ != nullptr) {
      source_ = who_;
      who_ = nullptr;
    } else {
      return false;
    }
    if (source_ != nullptr) {
      in_a_row_ = 0;
    }
    crc_ = CRC_BEGIN;
    part_ = Part::begin;
    return true;
  }

  ONCE uint8_t next_of_text() {
    const uint8_t character = from_flash(reinterpret_cast<const uint8_t*>(text_));
    ++text_;
    if (character >= ' ') {
      return character;
    }
    const char* const rest = text_;
    text_ = nullptr;
    if (character == '\n') {  // one line of who we are; unless we are asked anew, the next one follows
      const bool more = from_flash(reinterpret_cast<const uint8_t*>(rest)) != 0;
      who_ = who_ == nullptr && more ? rest : who_;
    } else if (character == facts::ANSWERED) {
      source_ = rest;
      say_hex(static_cast<uint16_t>(answered_ << 8), 2);
      part_ = Part::text;
#ifdef KEEPER
    } else if (character == facts::KEPT) {
      source_ = rest;
      part_ = Part::text;
      if (facts::kept() != nullptr) {
        letter_ = ' ';
        left_ = KEPT_BYTES;
        part_ = Part::kept;
      }
#endif
    } else if (character >= facts::FIRST_WORD) {
      text_ = character == facts::REASON ? words::reason(reason_) : facts::word(character);
      source_ = rest;
      part_ = Part::text;
    } else if (character != 0) {
      source_ = rest;
      decimal_.begin(facts::number(character));
      part_ = Part::text;
    }
    return 0;
  }

  uint8_t next_of_hex() {
    const uint8_t digit = static_cast<uint8_t>(hex_ >> 12);
    hex_ = static_cast<uint16_t>(hex_ << 4);
    --hex_digits_;
    return static_cast<uint8_t>(digit < 10u ? '0' + digit : 'A' - 10 + digit);
  }

  // Of a byte the upper half is said.
  void say_hex(uint16_t value, uint8_t digits) {
    hex_ = value;
    hex_digits_ = digits;
  }

  ONCE void say_width() {
    const HalfUs width = notes.take_word();
    decimal_.begin(width >> 1);
    half_ = (width & 1u) != 0;
  }

  const char* text_ = nullptr;    // all of these in flash
  const char* source_ = nullptr;  // what the line says; none: a tick
  const char* who_ = nullptr;     // what is still to be told of who we are
  Decimal decimal_;
  uint16_t crc_ = 0;
  uint16_t hex_ = 0;
  uint8_t hex_digits_ = 0;
  uint8_t letter_ = 0;
  uint8_t left_ = 0;
  uint8_t number_ = 0;
  uint8_t answered_ = 0;
  uint8_t in_a_row_ = 0;
  Answer answer_ = Answer::none;
  Answer reason_ = Answer::none;
  Part part_ = Part::nothing;
  bool half_ = false;
  bool tally_is_due_ = false;
};
