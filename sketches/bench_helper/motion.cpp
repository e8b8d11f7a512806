#include "motion.h"

#include <avr/interrupt.h>
#include <util/delay_basic.h>

#include "clock.h"
#include "outputs.h"
#include "ramp.h"
#include "sensors.h"
#include "serial_line.h"
#include "step_generator.h"

namespace motion {

Stopped stopped;
Why went_off;
bool missed_a_step;

namespace {

const uint16_t DEFAULT_IDLE_MS = 10000;
const uint32_t LONGEST_TOLD_MS = 999999999; // nine digits are all that a frame takes: eleven days

State now;
Trip trip;   // paced: of one step, with the rest before it
bool paced;
Ramp ramp;
Why ending;          // why the motion under way will have ended
uint32_t later;      // steps of legs not begun
uint32_t given_up;   // steps that an ease will not make
uint32_t since_ms;   // when rest, coil pattern or stillness began
uint32_t alive_ms;   // last sign of life
uint32_t cut_off_ms; // when a slow-down for want of one must be over
uint32_t budget_ms;  // when the coil budget was last updated
int32_t leg_from;    // position at which the leg under way began

Pulse pulse_now;
uint16_t idle_after_ms;
By driven_by;
bool coils;
Form coil_form;
CoilBudget budget __attribute__((section(".noinit")));
uint16_t coil_for_ms;

uint32_t magnitude(int32_t steps) { return (uint32_t)(steps < 0 ? -steps : steps); }

void begin_leg(State state, int32_t steps, uint32_t start, uint32_t run) {
    _delay_loop_2(pulse_now.setup / 4 + 1); // 4 cycles a turn: DIR stays this long after the last step
    outputs::set_direction(steps > 0);
    ramp.begin(magnitude(steps), start, run, trip.gain);
    step_generator::prepare(steps > 0 ? 1 : -1, pulse_now.setup + 100);
    Slice slice;
    while (step_generator::has_room() && ramp.next(slice))
        step_generator::push(slice);
    leg_from = position();
    step_generator::start();
    now = state;
}

void go_off(Why why) {
    outputs::all_off();
    went_off = why;
}

void end_motion(Why why) {
    step_generator::halt();
    Progress made = progress();
    stopped = Stopped{ why, made.position, made.left };
    now = State::idle;
    since_ms = clock::now_ms();
    if (why == Why::beat || why == Why::duty || why == Why::fault || why == Why::supply)
        go_off(why);
}

void end_leg() {
    if (now != State::moving || !later) {
        end_motion(ending);
        return;
    }
    now = State::resting;
    if (!paced)
        since_ms = clock::now_ms();
}

void fail_steps() {
    if (serial_line::stop_waits())
        return; // no wonder
    missed_a_step = true;
    end_motion(Why::fault);
}

void serve_steps() {
    if (step_generator::was_late()) {
        fail_steps();
        return;
    }
    Slice slice;
    if (step_generator::running()) {
        if (step_generator::has_room() && ramp.next(slice))
            step_generator::push(slice);
    } else if (ramp.steps_left() || step_generator::instant().queued) {
        fail_steps(); // the queue ran empty
    } else {
        end_leg();
    }
}

// How long an ease begun now would take, not too short: what is queued, then the ramp.
uint32_t ease_takes_ms() { return ramp.slow_down_ms() + 12 + 3000 / ramp.rate(); }

void lose_beat() {
    if (now == State::resting || ease_takes_ms() > EASE_MS) {
        end_motion(Why::beat);
        return;
    }
    ease();
    ending = Why::beat;
    cut_off_ms = clock::now_ms() + EASE_MS;
}

void watch_beat() {
    uint32_t time = clock::now_ms();
    if (ending != Why::beat) {
        if (time - alive_ms >= BEAT_MS)
            lose_beat();
    } else if ((int32_t)(time - cut_off_ms) >= 0) {
        end_motion(Why::beat);
    }
}

uint16_t hold_ms() { return coils && idle_after_ms > COIL_MS ? (uint16_t)COIL_MS : idle_after_ms; }

// This leg has gone through all patterns once, and goes on so: every coil is off for part of the time.
bool goes_round() {
    bool stepping = in_motion(now) && now != State::resting;
    return stepping && ramp.starting_rate() >= STANDING_RATE && magnitude(position() - leg_from) >= ROUND_STEPS;
}

void reckon_budget() {
    uint32_t passed = clock::now_ms() - budget_ms;
    if (!passed)
        return;
    budget_ms += passed;
    budget.pass(passed > ON_BUDGET_MS ? (uint16_t)ON_BUDGET_MS : (uint16_t)passed, coils && outputs::on(), !goes_round());
}

void switch_off_for(Why why) {
    if (in_motion(now))
        end_motion(why);
    else
        go_off(why);
}

void watch_budget() {
    if (coils && outputs::on() && budget.used_up())
        switch_off_for(Why::duty);
}

void watch_supply() {
    if (outputs::on() && sensors::supply_is_low())
        switch_off_for(Why::supply);
}

void begin_legs(uint32_t steps_later, bool in_paces) {
    later = steps_later;
    paced = in_paces;
    ending = Why::end;
    given_up = 0;
}

// Rests until it is time for the next step. Coil lines are off for most of that: their budget lasts.
void serve_pace(uint32_t still_ms) {
    if (still_ms >= trip.rest_ms) {
        since_ms += trip.rest_ms;
        later--;
        if (coils)
            outputs::show_pattern(pattern_at(step_generator::coil_phase()));
        begin_leg(State::moving, trip.steps, PACE_RATE, PACE_RATE);
    } else if (coils && outputs::on() && (still_ms >= PACE_ON_MS || still_ms >= trip.rest_ms / 4)) {
        outputs::all_off();
    }
}

void serve_state() {
    uint32_t still_ms = clock::now_ms() - since_ms;
    switch (now) {
    case State::idle:
        if (outputs::on() && still_ms >= hold_ms())
            go_off(Why::idle);
        break;
    case State::coil:
        if (still_ms >= coil_for_ms) {
            switch_outputs(false);
            went_off = Why::time;
        }
        break;
    case State::resting:
        if (paced) {
            serve_pace(still_ms);
        } else if (still_ms >= trip.rest_ms) {
            later = 0;
            begin_leg(State::returning, -trip.steps, trip.start < trip.back ? trip.start : trip.back, trip.back);
        }
        break;
    default:
        serve_steps();
    }
}

} // namespace

// What the interrupt of the stop byte goes on with: the lines go off here and now, the main loop sees to the rest.
extern "C" void __vector_stop_at_once(void) __attribute__((signal, used, externally_visible));
void __vector_stop_at_once(void) {
    cli();
    TIMSK1 = 0;
    outputs::all_off();
}

FlashText why_word(Why why) {
    switch (why) {
    case Why::eased:
        return PSTR("eased");
    case Why::stopped:
        return PSTR("stopped");
    case Why::beat:
        return PSTR("beat");
    case Why::duty:
        return PSTR("duty");
    case Why::reset:
        return PSTR("reset");
    case Why::fault:
        return PSTR("fault");
    case Why::idle:
        return PSTR("idle");
    case Why::time:
        return PSTR("time");
    case Why::supply:
        return PSTR("supply");
    default:
        return PSTR("end");
    }
}

void set_up() {
    outputs::all_off();
    budget.after_reset();
    step_generator::set_up();
    now = State::idle;
    stopped.why = went_off = Why::nothing;
    missed_a_step = false;
    later = given_up = 0;
    idle_after_ms = DEFAULT_IDLE_MS;
    set_pulse(cycles_for_ns(SHORTEST_PULSE_NS), cycles_for_ns(SHORTEST_PULSE_NS), cycles_for_ns(SHORTEST_SETUP_NS));
    drive_by(By::driver, Form::full);
}

void service() {
    reckon_budget();
    serve_state();
    watch_budget();
    watch_supply();
    if (in_motion(now))
        watch_beat();
}

State state() { return now; }

int32_t position() { return step_generator::position(); }

Progress progress() {
    step_generator::Instant at = step_generator::instant();
    Progress made = { at.position, 0, 0 };
    if (!in_motion(now))
        return made;
    made.left = later + given_up;
    if (now != State::resting) {
        made.left += ramp.steps_left() + at.queued;
        made.rate = (CYCLES_PER_SECOND + at.interval / 2) / at.interval;
    }
    return made;
}

bool outputs_on() { return outputs::on(); }

By by() { return driven_by; }

void sign_of_life() { alive_ms = clock::now_ms(); }

const Pulse &pulse() { return pulse_now; }

int32_t highest_rate_now() {
    int32_t rate = highest_rate(pulse_now.high, pulse_now.low);
    return coils && rate > COIL_TOP_RATE ? COIL_TOP_RATE : rate;
}

int32_t longest_rest_ms() { return coils ? COIL_MS : REST_MS; }

void set_pulse(uint16_t high, uint16_t low, uint16_t setup) {
    pulse_now.high = step_generator::set_high_cycles(high);
    pulse_now.low = low;
    pulse_now.setup = setup;
}

void drive_by(By by, Form form) {
    driven_by = by;
    coils = by == By::coils;
    coil_form = form;
    outputs::lend_to_clips(by == By::clips);
    if (coils)
        step_generator::step_coils(form);
    else
        step_generator::step_driver();
}

uint16_t idle_ms() { return idle_after_ms; }

void set_idle_ms(uint16_t ms) { idle_after_ms = ms; }

void switch_outputs(bool on) {
    reckon_budget();
    now = State::idle;
    since_ms = clock::now_ms();
    if (!on)
        outputs::all_off();
    else if (coils)
        outputs::show_pattern(pattern_at(step_generator::coil_phase()));
    else
        outputs::enable_driver();
}

uint32_t duration_ms(const Trip &asked) {
    uint32_t steps = magnitude(asked.steps);
    uint32_t ms = Ramp::duration_ms(steps, asked.start, asked.run, asked.gain);
    if (asked.comes_back)
        ms += asked.rest_ms + Ramp::duration_ms(steps, asked.start, asked.back, asked.gain);
    return ms < LONGEST_TOLD_MS ? ms : LONGEST_TOLD_MS;
}

__attribute__((noinline)) void begin(const Trip &asked) {
    trip = asked;
    begin_legs(trip.comes_back ? magnitude(trip.steps) : 0, false);
    begin_leg(State::moving, trip.steps, trip.start, trip.run);
}

int32_t pace(int32_t steps, uint16_t each_ms) {
    trip.steps = steps > 0 ? 1 : -1;
    trip.gain = 1;
    trip.rest_ms = each_ms;
    begin_legs(magnitude(steps), true);
    now = State::resting;
    since_ms = clock::now_ms();
    return (int32_t)(later * each_ms);
}

void ease() {
    if (now == State::resting) {
        end_motion(Why::eased);
    } else if (now == State::moving || now == State::returning) {
        uint32_t planned = ramp.steps_left();
        ramp.ease();
        given_up = later + planned - ramp.steps_left();
        later = 0;
        ending = Why::eased;
        now = State::easing;
    }
}

void cut(Why why) {
    if (in_motion(now))
        end_motion(why);
    switch_outputs(false);
}

void zero() {
    step_generator::set_position(0);
    step_generator::take_edges(); // one seen just now belongs to the count before
}

uint32_t wait_to_stand(uint16_t ms) {
    reckon_budget();
    return coils ? budget.wait_for(ms, ms) : 0;
}

uint32_t wait_to_hold() { return wait_to_stand(hold_ms()); }

uint32_t wait_to_move(const Trip &asked, uint32_t takes_ms) {
    reckon_budget();
    uint16_t on_ms = takes_ms < (uint32_t)COIL_MOVE_ON_MS ? (uint16_t)takes_ms : (uint16_t)COIL_MOVE_ON_MS;
    return coils ? budget.wait_for((uint16_t)(COIL_MOVE_MS + asked.rest_ms), on_ms) : 0;
}

const CoilBudget &coil_budget() {
    reckon_budget();
    return budget;
}

void show_coil(uint8_t pattern, uint16_t ms) {
    reckon_budget();
    outputs::show_pattern(pattern);
    coil_for_ms = ms;
    now = State::coil;
    since_ms = clock::now_ms();
}

} // namespace motion
