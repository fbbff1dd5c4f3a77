// Where the compiler should not choose by itself.
#pragma once

// A function of the ship is a constant: put into the code that runs it, its numbers become part of
// the instructions and cost neither memory nor time.
#define IN_PLACE inline __attribute__((always_inline))

// Larger pieces exist once, for all that need them.
#define ONCE __attribute__((noinline))
