#include "parts.h"

bool has_off(const void* row) { return *static_cast<const uint8_t*>(row) != 0; }

void tick() {
  const uint8_t functions = any8();
  const uint8_t* forces_in_flash = static_cast<const uint8_t*>(any_table(functions, 1, has_off));
  Force force;
  force.function_ = any8_to(functions);
  force.state_ = any8();
  force.begins_ = any8_to(1);
  force.barred_ = any8_to(1);
  const uint8_t was = force.function_;
  const uint8_t was_in = force.state_;

  force.look(any16(), forces_in_flash, functions);

  require(force.function_ <= functions && force.begins_ <= 1 && !force.is_barred());
  require(force.function_ != 0 || force.state_ == 0);
  // Behind each force there is a tick of off.
  require(force.function_ == was || was_in == 0);
}
