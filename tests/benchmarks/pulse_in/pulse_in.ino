// What a beginner writes: wait for each channel's pulse in turn, switch a relay. For comparison only.
const uint8_t CHANNELS = 8;
const uint8_t pins[CHANNELS] = { 2, 3, 4, 5, 6, 7, 14, 15 };
const uint8_t relay = 12;

struct Reading {
  uint8_t channel;
  uint16_t width_us;
} report;

void setup() {
  pinMode(relay, OUTPUT);
}

void loop() {
  for (uint8_t i = 0; i < CHANNELS; i++) {
    report.channel = i;
    report.width_us = static_cast<uint16_t>(pulseIn(pins[i], HIGH));
    GPIOR0 = 1;
    if (i == 0) {
      digitalWrite(relay, report.width_us > 1650 ? HIGH : LOW);
    }
    GPIOR0 = 2;
    GPIOR0 = 0;  // the simulated chip takes the report here
  }
}
