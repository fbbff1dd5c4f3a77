#include "lines.h"

#include "wiring.h"

namespace lines {

// The levels that the pins of each port should have.
static void levels_of(const uint8_t* lines, uint8_t* levels) {
  for (uint8_t port = 0; port != wiring::LINE_PORTS; ++port) {
    levels[port] = from_flash(&wiring::line_ports[port].on_is_low);
  }
  uint8_t eight = 0;
  for (uint8_t i = 0; i != LINES; ++i) {
    eight = static_cast<uint8_t>(i % 8u == 0 ? lines[i / 8u] : eight >> 1);
    if ((eight & 1u) != 0) {
      const wiring::LinePlace* place = &wiring::line_places[i];
      uint8_t& level = levels[from_flash(&place->port)];
      level = static_cast<uint8_t>(level ^ from_flash(&place->pin));
    }
  }
}

// Writing to a PIN register flips those output pins whose bits are set and leaves all others as
// they are: the rest of the port cannot be disturbed, and no interrupt has to be kept out.
void write(const uint8_t* lines) {
  uint8_t levels[wiring::LINE_PORTS + 1u];  // an array has at least one place
  levels_of(lines, levels);
  for (uint8_t i = 0; i != wiring::LINE_PORTS; ++i) {
    const wiring::LinePort port = from_flash(&wiring::line_ports[i]);
    *port.flip = static_cast<uint8_t>((*port.level ^ levels[i]) & port.pins);
  }
}

}  // namespace lines
