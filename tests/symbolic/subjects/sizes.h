// A ship that has some of everything.
#pragma once
#include <stdint.h>

#define BENCH
constexpr uint8_t KEPT_BYTES = 4;
constexpr uint16_t MOST_COUNTS = 1023;
constexpr uint8_t FUNCTIONS = 24;
constexpr uint8_t LINE_BYTES = 8;
constexpr uint8_t SERVO_SLOTS = 8;
constexpr uint8_t SENSOR_SLOTS = 8;
constexpr uint8_t LIGHT_SLOTS = 8;
constexpr uint8_t PULSES_MAX = 16;
