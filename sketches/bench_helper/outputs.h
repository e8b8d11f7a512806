// The lines that can move a motor: off from the first instruction on, and whenever in doubt.
#pragma once

#include <stdint.h>

namespace outputs {

void all_off();
// Nothing is switched on while a stop waits to be taken.
void enable_driver();
bool on();

void set_direction(bool positive);
void show_pattern(uint8_t pattern); // bit 0 = coil 1 ... bit 3 = coil 4

} // namespace outputs
