// Plans one leg of motion: exact steps, constant acceleration up and down. No hardware in here.
//
// After k steps of the ramp the rate is sqrt(start^2 + 2 * gain * k) (constant acceleration, v^2 = v0^2 + 2 a s with s in
// steps), and the steps between two such places take their number over the mean of both rates: exactly, the first ones, too.
// Counting k up and down in whole numbers makes the step count and the symmetry of the ramp exact; only the duration is rounded.
#pragma once

#include <stdint.h>

const uint32_t CYCLES_PER_SECOND = 16000000;

// So many steps, evenly spread over so many processor cycles.
struct Slice {
    uint8_t steps;
    uint32_t cycles;
};

class Ramp {
  public:
    // steps >= 1; rates in steps per second, 10 to 200000; gain in steps per second per second, >= 1.
    void begin(uint32_t steps, uint32_t start, uint32_t run, uint32_t gain);

    // The next slice of about a millisecond; false when every step has been planned.
    bool next(Slice &slice);

    // From the next slice on slow down to the starting rate and end there.
    void ease();

    uint32_t steps_left() const { return left; } // not planned yet
    uint32_t rate() const { return rate_now; }   // of the last slice planned, steps per second
    uint32_t starting_rate() const { return start_rate; }
    uint32_t slow_down_ms() const;               // from the last slice planned to the end of an ease
    static uint32_t duration_ms(uint32_t steps, uint32_t start, uint32_t run, uint32_t gain);

  private:
    uint32_t left = 0;
    uint32_t ramp_index = 0;   // k of the next interval
    uint32_t cruise_index = 0; // k from which the cruise rate is reached
    uint32_t start_index = 0;  // intervals a ramp from standstill would need to the starting rate
    float start_squared = 0;
    float gain_now = 1;
    uint32_t start_rate = 0;
    uint32_t run_rate = 0;
    uint32_t rate_now = 0;
    uint32_t cruise_cycles = 0;   // of one interval, whole cycles ...
    uint32_t cruise_fraction = 0; // ... and 1 / 2^24 cycles
    uint32_t fraction_carried = 0;
    bool first = false;
    uint32_t known_index = 0; // the place of which the rate was last reckoned: a slice ends where the next begins
    float known_rate = 0;

    uint8_t slice_steps(uint32_t most) const;
    uint8_t ramp_steps(uint32_t index, uint32_t most) const;
    float rate_at(uint32_t index);
    uint32_t ramp_cycles(uint32_t from_index, uint32_t to_index);
    uint32_t cruise(uint8_t steps);
};
