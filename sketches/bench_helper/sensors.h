// Index input, analogue inputs, the board's own supply.
#pragma once

#include <stdint.h>

namespace sensors {

void set_up();                           // then measure the supply once
bool index_level();
uint16_t raw(uint8_t channel);           // 0..1023 of the supply
uint16_t supply_millivolt();             // measures, and remembers for `millivolt`
void service();                          // goes on measuring the supply, a conversion at a time
bool supply_is_low();                    // too low to rely on what the outputs do
uint16_t supply_last();                  // millivolt
uint16_t millivolt(uint16_t raw_reading); // against the supply last measured

} // namespace sensors
