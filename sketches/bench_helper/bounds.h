// What the board may be asked to do, and how far. No hardware in here.
#pragma once

#include <stdint.h>

#include "ramp.h"

const int32_t LOWEST_RATE = 10;          // steps per second
const int32_t TOP_RATE = 100000;         // with the pulse of reset
const int32_t COIL_TOP_RATE = 60000;     // a step by coils takes the interrupt twice as long
const int32_t HIGHEST_GAIN = 9999999;    // steps per second per second
const int32_t MOST_STEPS = 9999999;
const int32_t FURTHEST = 999999999;      // of pos, either way, and of counts: nine digits are all that a frame takes
const int32_t SHORTEST_PULSE_NS = 2500;
const int32_t LONGEST_PULSE_NS = 30000;
const int32_t SHORTEST_SETUP_NS = 5000;
const int32_t LONGEST_SETUP_NS = 50000;
const int32_t BEAT_MS = 500;
const int32_t EASE_MS = 100;
const int32_t COIL_MS = 2000;
const int32_t STAND_BUDGET_MS = 5000;    // coil lines: a pattern that stands
const int32_t ON_BUDGET_MS = 60000;      // ... and all the time that any of them is on
const int32_t POWER_UP_ON_MS = 20000;    // of it, where the board remembers nothing
const int32_t ON_BACK = 3;               // ms with the lines off for each of it given back
const int32_t COIL_MOVE_MS = 1000;       // of standing, before a move may begin
const int32_t COIL_MOVE_ON_MS = 50000;   // of being on, before a move may begin that takes longer
const uint32_t ROUND_STEPS = 8;          // within so many steps every pattern occurs
const uint32_t STANDING_RATE = 10;       // a move that goes slower anywhere stands
const int32_t MOST_PACED = 9999;         // steps, one at a time
const int32_t SHORTEST_PACE_MS = 100;    // from step to step: where the rates of a move end
const int32_t LONGEST_PACE_MS = 10000;
const uint32_t PACE_RATE = 1000;         // of each of its steps, steps per second
const uint32_t PACE_ON_MS = 500;         // coil lines are on for a quarter of the pace, and no longer than this
const int32_t REST_MS = 60000;
const int32_t MOST_SAMPLES = 64;         // of one reading: their sum takes 16 bits
const int32_t SOONEST_RISE = 16;         // cycles after a clip went high
const int32_t LATEST_RISE = 16000;
const int32_t LEAST_BANDGAP_MV = 980;    // the reference of any chip, 1.0 to 1.2 V by the data sheets, as meters tell it
const int32_t MOST_BANDGAP_MV = 1220;
const int32_t SHORTEST_IDLE_MS = 100;
const int32_t LONGEST_IDLE_MS = 60000;

// Whole cycles that last at least so many nanoseconds, and back (62.5 ns a cycle).
uint16_t cycles_for_ns(uint32_t ns);
uint32_t ns_of_cycles(uint16_t cycles);

// The highest rate at which the low time holds and the main loop keeps enough of the processor to plan.
int32_t highest_rate(uint16_t high_cycles, uint16_t low_cycles);

// Opposite coils together cancel in a centre-tapped winding, and short the supply of an H-bridge.
bool opposite_coils(uint8_t pattern);

// How many steps a move may have at this position, so that it stays within FURTHEST.
int32_t fewest_steps(int32_t position);
int32_t most_steps(int32_t position);

// How long coil lines may be on. What stands, and all that is on, is used up millisecond by millisecond, and given back
// only while all lines are off. It lies in memory that no reset but one of the supply wipes: hence no constructor, and a
// check that tells whether the memory still holds what was put there.
class CoilBudget {
  public:
    void after_reset(); // goes on with what is remembered
    void pass(uint16_t ms, bool on, bool standing);
    uint32_t wait_for(uint16_t standing_ms, uint16_t on_ms) const; // ms with the lines off; 0: allowed now
    bool used_up() const { return stand_left == 0 || on_left == 0; }
    uint16_t standing() const { return stand_left; }
    uint16_t on() const { return on_left; }

  private:
    uint16_t stand_left, on_left;
    uint16_t given; // of ON_BACK
    uint16_t check;

    uint16_t fitting_check() const { return (uint16_t)(0x5A5A ^ stand_left ^ (uint16_t)(on_left * 3u) ^ given); }
};

// Patterns in the order of a positive move: one cycle of half steps; the wave and full steps are every other one.
enum class Form : uint8_t { wave, full, half };
uint8_t pattern_at(uint8_t phase); // phase 0..7
uint8_t first_phase(Form form);
uint8_t phase_stride(Form form);
