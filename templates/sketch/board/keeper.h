// The keeper: what outlives the power lies in the chip's EEPROM.
//
// It is written as a record: the bytes, a running number, and a CRC over both that begins with the plan's
// mark. Each record takes the next place of many, so that all cells wear alike, and the record before it
// stays whole while it is written: a power cut leaves one of the two. On the average no more than one
// record a second is begun, and no tick ever waits for a cell. When a motor starts whose load's place is on
// record, a record that nobody knows it is begun at once: it is whole a tick for each byte of it later.
#pragma once
#include "../logic/kept.h"

namespace keeper {

// At start-up: the newest whole record of this plan. False if there is none, or the bench wants to begin
// as if there were none.
bool recall(Kept& kept);

// What was found at start-up, KEPT_BYTES of it; nullptr if nothing was.
const uint8_t* found_at_start();

// Once a tick, with what is to be kept.
void work(const Kept& kept);

}  // namespace keeper
