// What the host may ask of the bench, word by word.
#pragma once
#include "../board/restarts.h"
#include "../logic/report.h"
#include "bench.h"
#include "hearer.h"

namespace orders {

inline bool is_of_bench(Word word) {
  return word != Word::who && word != Word::here && word != Word::unknown;
}

// Inputs and sensors count from 0, as do letters here.
inline uint8_t which(const Argument& one) { return static_cast<uint8_t>((one.letter & 0x1Fu) - 1u); }

inline bool exists(const Argument& one) {
  if (one.is_pulse()) {
    return which(one) < INPUTS;
  }
  return one.letter != 0 && is_below(which(one), SENSORS) && one.value <= MOST_COUNTS;
}

inline void take(const Argument& one, Report& report) {
  if (one.is_pulse()) {
    report.pulses.pulse[report.pulses.count] = { which(one), one.value };
    ++report.pulses.count;
  } else {
    report.readings.at[which(one)] = one.value;
  }
}

// All of a line's pulses and readings, or none.
inline Answer take_all(const Hearer& heard, Report& report) {
  const uint8_t count = heard.arguments();
  bool can = report.pulses.count + count <= PULSES_MAX;
  for (uint8_t i = 0; i != count; ++i) {
    can = can && exists(heard.argument(i));
  }
  if (!can) {
    return Answer::range;
  }
  for (uint8_t i = 0; i != count; ++i) {
    take(heard.argument(i), report);
  }
  return Answer::ok;
}

inline uint8_t numbers_wanted(Word word) {
  return word == Word::force ? 2 : word == Word::arm ? 1 : 0;
}

inline bool has_numbers(const Hearer& heard, uint8_t wanted) {
  bool has = heard.arguments() == wanted;
  for (uint8_t i = 0; has && i != wanted; ++i) {
    has = heard.argument(i).letter == 0;
  }
  return has;
}

inline Answer obey(const Hearer& heard, Bench& bench, Report& report) {
  if (!bench.is_allowed()) {
    return Answer::bench;
  }
  if (heard.word() == Word::p) {
    return bench.has_inputs() ? take_all(heard, report) : Answer::bench;
  }
  if (!has_numbers(heard, numbers_wanted(heard.word()))) {
    return Answer::word;
  }
  switch (heard.word()) {
    case Word::bench_on:
      bench.take_inputs();
      return Answer::ok;
    case Word::arm:
      return bench.arm(heard.argument(0).value);
    case Word::force:
      return bench.force(heard.argument(0).value, heard.argument(1).value, heard.number());
    case Word::let_go:
      bench.let_go();
      return Answer::ok;
    case Word::restart:
      restarts::restart(false);
    case Word::restart_forget:
      restarts::restart(true);
    default:
      return Answer::word;
  }
}

}  // namespace orders
