// Writes down what a tick has to tell: its pulses at once, for they are soon written over, and what
// has changed one by one, while the board waits for the next tick.
#pragma once
#include "../logic/report.h"
#include "facts.h"
#include "notes.h"

class Noter {
 public:
  // At the end of a tick.
  void begin(const Report& report) {
    if (item_ != DONE) {
      drop();  // the tick has taken so long that there was no time for the note before
    }
    notes.begin();
    notes.add_word(report.tick);
    for (uint8_t i = 0; i != report.pulses.count; ++i) {
      const SeenPulse& pulse = report.pulses.pulse[i];
      add(static_cast<uint8_t>(Head::INPUT | pulse.input), pulse.width);
    }
    has_something_ = report.pulses.count != 0;
    item_ = 0;
  }

  // Looks at one thing more that may have changed; after the last one, keeps the note if there is
  // anything in it. Takes 10 us.
  void go_on(const Report& report) {
    if (item_ != DONE) {
      look(item_, report);
    }
  }

  bool is_done() const { return item_ == DONE; }

  uint16_t dropped() const { return dropped_; }

 private:
  static constexpr uint8_t DONE = 0xFF;
  static constexpr uint8_t TURN_TICKS = 4;

  // A servo gets a new width once in four ticks, so it is told no more often; a light likewise. Several
  // that move all the time would else take more of the line than there is.
  static bool its_turn(uint8_t which, uint16_t tick) {
    return ((which ^ static_cast<uint8_t>(tick)) % TURN_TICKS) == 0;
  }

  void look(uint8_t item, const Report& report) {
    ++item_;
    if (is_below(item, SENSORS)) {
      compare(static_cast<uint8_t>(Head::SENSOR | item), report.readings.at[item], felt_.at[item]);
      return;
    }
    item = static_cast<uint8_t>(item - SENSORS);
    if (item == 0) {
      compare_lines(report.outputs.lines);
      return;
    }
    --item;
    if (is_below(item, SERVOS)) {
      if (its_turn(item, report.tick)) {
        compare(static_cast<uint8_t>(Head::SERVO | item), report.outputs.servos[item],
                driven_.servos[item]);
      }
      return;
    }
    item = static_cast<uint8_t>(item - SERVOS);
    if (is_below(item, LIGHTS)) {
      if (its_turn(item, report.tick)) {
        compare(static_cast<uint8_t>(Head::LIGHT | item), report.outputs.levels[item],
                driven_.levels[item]);
      }
      return;
    }
#ifdef BENCH
    if (item == LIGHTS) {
      compare_force(report.readings.force);
      return;
    }
#endif
    finish(report.digest);
  }

#ifdef BENCH
  void compare_force(uint16_t force) {
    if (everything_ == 0 && force == felt_.force) {
      return;
    }
    felt_.force = force;
    has_something_ = true;
    if (force == 0) {
      notes.add(Head::NO_FORCE);
      return;
    }
    add(Head::FORCE, static_cast<uint16_t>((force >> 8) - 1u));
    notes.add_word(force & 0xFFu);
  }
#endif

  template <class Value>
  void compare(uint8_t head, const Value& value, Value& told) {
    if (everything_ != 0 || value != told) {
      told = value;
      add(head, value);
      has_something_ = true;
    }
  }

  void compare_lines(const uint8_t* lines) {
    bool changed = everything_ != 0;
    for (uint8_t i = 0; i != LINE_BYTES; ++i) {
      changed = changed || lines[i] != driven_.lines[i];
    }
    if (!changed) {
      return;
    }
    notes.add(Head::LINES);
    for (uint8_t i = LINE_BYTES; i != 0; --i) {
      driven_.lines[i - 1u] = lines[i - 1u];
      notes.add(lines[i - 1u]);
    }
    has_something_ = true;
  }

  ONCE static void add(uint8_t head, uint16_t word) {
    notes.add(head);
    notes.add_word(word);
  }

  void finish(uint32_t digest) {
    item_ = DONE;
    if (!has_something_) {
      return;
    }
    notes.add(Head::END);
    notes.add_word(static_cast<uint16_t>(digest >> 16));
    notes.add_word(static_cast<uint16_t>(digest));
    if (!notes.keep()) {
      drop();
    } else if (everything_ != 0) {
      --everything_;
    }
  }

  // Whoever listens does not know now what has changed.
  void drop() {
    everything_ = TURN_TICKS;
    if (dropped_ < 0xFFFF) {
      ++dropped_;
    }
  }

  Readings felt_ = {};  // as told last
  Outputs driven_ = {};
  uint16_t dropped_ = 0;
  uint8_t item_ = DONE;
  uint8_t everything_ = TURN_TICKS;  // for so many ticks to come: nobody knows how it was before
  bool has_something_ = false;
};
