#include "uart.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "wiring.h"

namespace uart {

// 115200 baud at 16 MHz: 2.1 % fast, the nearest there is (ATmega328P datasheet, "Examples of Baud Rate
// Setting"). Boards with another clock have another number here.
constexpr uint16_t RATE = (F_CPU / 4 / 115200 - 1) / 2;

// More bytes than come while a tick is worked out.
constexpr uint8_t RING_BYTES = 16;
static volatile uint8_t ring[RING_BYTES] __attribute__((used));
static volatile uint8_t head __attribute__((used)) = 0;
static volatile uint8_t tail __attribute__((used)) = 0;

// The byte has to be read before other interrupts are let in, for its request stands until then. 12
// cycles go by until an edge's interrupt can come: that is how much later its time may be while the
// host sends, and the reason for assembler. Behind `sei` there is no haste.
// - Should edges keep this from coming to its end for 85 us, the next byte may overtake this one: the
//   line's CRC finds it out. A byte that there is no room for is lost with its line.
ISR(WIRING_LINK_VECTOR, ISR_NAKED) {
  asm volatile(
      "push r24                     \n\t"
      "lds  r24, %[data]            \n\t"
      "sei                          \n\t"
      "push r25                     \n\t"
      "in   r25, __SREG__           \n\t"
      "push r25                     \n\t"
      "push r30                     \n\t"
      "push r31                     \n\t"
      "lds  r30, %[head]            \n\t"
      "mov  r25, r30                \n\t"
      "inc  r25                     \n\t"
      "andi r25, %[last]            \n\t"
      "lds  r31, %[tail]            \n\t"
      "cp   r25, r31                \n\t"
      "breq 1f                      \n\t"
      "ldi  r31, 0                  \n\t"
      "subi r30, lo8(-(%[ring]))    \n\t"
      "sbci r31, hi8(-(%[ring]))    \n\t"
      "st   Z, r24                  \n\t"
      "sts  %[head], r25            \n\t"
      "1:                           \n\t"
      "pop  r31                     \n\t"
      "pop  r30                     \n\t"
      "pop  r25                     \n\t"
      "out  __SREG__, r25           \n\t"
      "pop  r25                     \n\t"
      "pop  r24                     \n\t"
      "reti                         \n\t"
      :
      : [data] "n"(_SFR_MEM_ADDR(WIRING_LINK_DATA)), [ring] "i"(ring), [head] "i"(&head),
        [tail] "i"(&tail), [last] "n"(RING_BYTES - 1));
}

void start() {
  WIRING_LINK_RATE = RATE;
  WIRING_LINK_STATUS = WIRING_LINK_FAST;
  WIRING_LINK_FORMAT = WIRING_LINK_8N1;
  WIRING_LINK_CONTROL = WIRING_LINK_ON;
}

bool has_received(uint8_t& byte) {
  if (tail == head) {
    return false;
  }
  byte = ring[tail];
  return true;
}

void take() { tail = static_cast<uint8_t>((tail + 1u) % RING_BYTES); }

bool can_send() { return (WIRING_LINK_STATUS & WIRING_LINK_CAN_SEND) != 0; }

void send(uint8_t byte) { WIRING_LINK_DATA = byte; }

}  // namespace uart
