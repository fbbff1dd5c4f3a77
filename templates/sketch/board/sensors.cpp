#include "sensors.h"

#include <avr/io.h>

#include "wiring.h"

namespace sensors {

using wiring::ANALOGUE_SENSORS;
using wiring::DIGITAL_SENSORS;

static uint16_t counts[ANALOGUE_SENSORS + 1];  // an array has at least one place
static uint8_t turn = 0;

// Measures against the board's supply (AVCC), at 125 kHz: the slowest there is, and the most exact.
static void begin() {
  const uint8_t channel = from_flash(&wiring::analogue_sensors[turn].channel);
  ADMUX = static_cast<uint8_t>(_BV(REFS0) | (channel & 7u));
#ifdef MUX5
  ADCSRB = (channel & 8u) != 0 ? _BV(MUX5) : 0;
#endif
  ADCSRA = _BV(ADEN) | _BV(ADSC) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
}

void start() {
  if (ANALOGUE_SENSORS != 0) {
    begin();
  }
}

void measure_next() {
  if (ANALOGUE_SENSORS == 0 || (ADCSRA & _BV(ADSC)) != 0) {
    return;
  }
  counts[turn] = ADC;
  ++turn;
  if (turn == ANALOGUE_SENSORS) {
    turn = 0;
  }
  begin();
}

void take(Readings& into) {
  for (uint8_t i = 0; i != ANALOGUE_SENSORS; ++i) {
    into.at[from_flash(&wiring::analogue_sensors[i].sensor)] = counts[i];
  }
  for (uint8_t i = 0; i != DIGITAL_SENSORS; ++i) {
    const wiring::DigitalSensor contact = from_flash(&wiring::digital_sensors[i]);
    into.at[contact.sensor] = (*contact.level & contact.pin) != 0;
  }
}

}  // namespace sensors
