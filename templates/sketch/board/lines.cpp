#include "lines.h"

#include "wiring.h"

namespace lines {

void write(const uint8_t* lines) { wiring::write_lines(lines); }

}  // namespace lines
