// The CRC of the link's lines: CRC-16/IBM-3740 (polynomial 1021, begun with FFFF). Of "123456789" it
// is 29B1.
#pragma once
#include <stdint.h>

#ifdef __AVR__
#include <util/crc16.h>
#endif

constexpr uint16_t CRC_BEGIN = 0xFFFF;

inline uint16_t crc_with(uint16_t crc, uint8_t byte) {
#ifdef __AVR__
  return _crc_xmodem_update(crc, byte);  // the same polynomial, in 16 cycles
#else
  crc = static_cast<uint16_t>(crc ^ byte << 8);
  for (int i = 0; i != 8; ++i) {
    crc = static_cast<uint16_t>((crc & 0x8000u) != 0 ? crc << 1 ^ 0x1021 : crc << 1);
  }
  return crc;
#endif
}
