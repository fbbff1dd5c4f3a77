// The bench's jumper: a computer may work the ship only if it was fitted when the board started.
#pragma once
#include "wiring.h"

namespace jumper {

// The pin is pulled up since the reset; tied to ground it is low.
inline bool is_fitted() { return wiring::jumper_is_fitted(); }

}  // namespace jumper
