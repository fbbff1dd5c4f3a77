// Lines: the digital outputs.
#pragma once
#include <stdint.h>

namespace lines {

// All lines at once; bit i % 8 of lines[i / 8] is set while line i is on.
void write(const uint8_t* lines);

}  // namespace lines
