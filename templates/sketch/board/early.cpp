// The first instructions after a reset, before memory is set up and long before any interrupt.
#include <avr/io.h>
#include <avr/wdt.h>

#include "wiring.h"

// Why the board was reset (MCUSR), for whoever asks later. Not cleared with the other variables,
// because it is written before they are.
uint8_t reset_cause __attribute__((section(".noinit")));

// The C start-up runs through this on its way to main(); it is never called and never returns.
static void be_safe() __attribute__((naked, used, section(".init3")));

static void be_safe() {
  reset_cause = MCUSR;
  MCUSR = 0;      // as long as it says "watchdog", the watchdog cannot be switched off
  wdt_disable();  // after a watchdog reset it is on, and quick: 16 ms
  wiring::make_outputs_safe();
#ifdef WIRING_REGISTERS
  wiring::make_registers_safe();
#endif
}
