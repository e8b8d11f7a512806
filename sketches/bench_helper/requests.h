// The verbs of the protocol, their fields and ranges (sketches/PROTOCOL.md, section 3). No hardware in here.
#pragma once

#include <stdint.h>

#include "frames.h"

enum class Verb : uint8_t {
    hello, report, pins, limits, counts, beat, pulse, drive, idle, outputs,
    move, trip, ease, stop, coil, read, supply, index, zero, reset, none
};

enum class State : uint8_t { idle, moving, resting, returning, easing, coil };
inline bool in_motion(State state) { return state != State::idle && state != State::coil; }

const uint8_t MOST_VALUES = 6;
const int32_t LEFT_OUT = -1; // an optional word that was not given

// A request whose fields are all there and in range. Values stand in the order of the protocol's table;
// a word stands as its place in the list of words it may be.
struct Request {
    Verb verb;
    int32_t values[MOST_VALUES];
};

// Why a frame is refused; `word` is null when it is not.
struct Refusal {
    FlashText word;
    Text at; // of `field` and `range`: which field
    bool has_range;
    int32_t low, high;
};

// What depends on the board and on its settings.
struct Bounds {
    int32_t highest_rate;
    int32_t last_channel;
    int32_t longest_rest_ms;
};

// Checks verb, greeting, fields and ranges, in the protocol's order.
Refusal read_request(const Frame &frame, bool greeted, const Bounds &bounds, Request &request);

// Whether the verb may be used in this state.
bool allowed_in(Verb verb, State state, const Request &request);

FlashText state_word(State state);
