// Index input, analogue inputs, the board's own supply.
#pragma once

#include <stdint.h>

#include "bounds.h"

namespace sensors {

void set_up();                           // then measure the supply once
bool index_level();
enum class Against : uint8_t { supply, bandgap };
// The sum of so many readings, 0..1023 each; `Against::bandgap` takes some 32 ms for the reference to settle.
uint16_t sum_of(uint8_t channel, uint8_t samples, Against reference);
// One reading of `channel`, held HELD_AFTER cycles after Timer1 reaches its compare B: to be set up before the timer
// runs, then waited for.
const uint16_t HELD_AFTER = 260;
void await_timer(uint8_t channel);
uint16_t held();
uint16_t supply_millivolt();              // measures, and remembers
void service();                          // goes on measuring the supply, a conversion at a time
// What the bandgap reference is taken for: as a meter told it, kept over resets, else as board_config.h has it.
uint16_t bandgap_millivolt();
bool bandgap_is_kept();
void keep_bandgap(uint16_t millivolt); // takes 7 ms at most
bool supply_is_low();                    // too low to rely on what the outputs do
uint16_t supply_last();                   // millivolt
uint16_t millivolt(uint16_t sum, uint8_t samples, Against reference); // the mean; against the supply last measured

} // namespace sensors
