// Controls, outputs and what else functions are made of, with what always holds of them.
#pragma once
#include "any.h"
#include "limits.h"

#include "logic/function.h"
#include "logic/force.h"
#include "logic/trigger.h"

inline bool is_sound(const Control& control) { return control.flags_ <= Control::LOST; }

inline void make_any_control(Control& control) {
  make_any(control);
  assume(is_sound(control));
}

inline void make_any_stick(Proportional& stick) {
  make_any(stick);
  assume(is_sound(stick));
  assume(stick.value_ <= WIDTH_MOST);
}

inline Loss any_loss() { return static_cast<Loss>(any8_to(2)); }

inline Line any_line() { return line(any8_to(8 * LINE_BYTES - 1)); }

inline Forced any_force(uint8_t forces) {
  return { any8_to(static_cast<uint8_t>(forces - 1)), any_bool() };
}

// What the bench may say to a function of so many forces.
struct SomeForce {
  bool is_there;
  Forced forced;
  bool* barred;
  explicit SomeForce(uint8_t forces, bool* is_barred)
      : is_there(any_bool()), forced(any_force(forces)), barred(is_barred) {}
  bool exists() const { return is_there; }
  Forced what() const { return forced; }
  void bar() const { *barred = true; }
};

inline bool is_on(const Outputs& outputs, Line line) {
  return (outputs.lines[line.byte] & line.bit) != 0;
}

// Whether nothing but these two lines changed, wherever one looks.
inline bool lines_kept(const Outputs& before, const Outputs& after, Line own, Line own_too) {
  const Line other = any_line();
  const bool mine = (other.byte == own.byte && other.bit == own.bit) ||
                    (other.byte == own_too.byte && other.bit == own_too.bit);
  return mine || is_on(before, other) == is_on(after, other);
}
