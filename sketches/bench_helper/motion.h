// What the outputs do over time: legs of a move, coil patterns, and the time limits on all of it.
#pragma once

#include <stdint.h>

#include "bounds.h"
#include "requests.h"

namespace motion {

// Why motion ended, or the outputs went off.
enum class Why : uint8_t { nothing, end, eased, stopped, beat, duty, reset, fault, idle, time, supply };
FlashText why_word(Why why);

void set_up();
void service(); // keeps the steps coming; call it every pass of the main loop

State state();
int32_t position();
// One instant of a motion: steps per second, and steps still to be made, all legs.
struct Progress {
    int32_t position;
    uint32_t rate, left;
};
Progress progress();
bool outputs_on();
By by();
void sign_of_life();

struct Pulse {
    uint16_t high, low, setup; // cycles
};
const Pulse &pulse();
int32_t highest_rate_now();
int32_t longest_rest_ms();
void set_pulse(uint16_t high, uint16_t low, uint16_t setup);

void drive_by(By by, Form form);
uint16_t idle_ms();
void set_idle_ms(uint16_t ms);
void switch_outputs(bool on);

struct Trip {
    int32_t steps;
    uint32_t start, run, gain;
    bool comes_back;
    uint32_t rest_ms, back;
};
uint32_t duration_ms(const Trip &asked);
void begin(const Trip &asked);
int32_t pace(int32_t steps, uint16_t each_ms); // a step at a time, so far apart; how long it takes, ms
void ease();
void cut(Why why); // no more steps, outputs off; a stop is told if there was motion
void zero();

// How long the coil lines must be off until the budget allows this; 0: allowed now, or not driving by coils.
uint32_t wait_to_stand(uint16_t ms);
uint32_t wait_to_hold(); // for outputs on
uint32_t wait_to_move(const Trip &asked, uint32_t takes_ms);
const CoilBudget &coil_budget();
void show_coil(uint8_t pattern, uint16_t ms);

// What there is to tell; Why::nothing when there is nothing. Whoever tells it clears it.
struct Stopped {
    Why why;
    int32_t position;
    uint32_t left;
};
extern Stopped stopped;
extern Why went_off;
extern bool missed_a_step;

} // namespace motion
