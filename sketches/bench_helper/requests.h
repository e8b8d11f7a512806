// The verbs of the protocol, their fields and ranges (sketches/PROTOCOL.md, section 3). No hardware in here.
#pragma once

#include <stdint.h>

#include "frames.h"

enum class Verb : uint8_t {
    hello, report, pins, limits, counts, beat, pulse, drive, idle, outputs,
    move, trip, pace, ease, stop, coil, read, pair, rise, scale, supply, index, zero, reset, none
};

enum class State : uint8_t { idle, moving, resting, returning, easing, coil };
inline bool in_motion(State state) { return state != State::idle && state != State::coil; }

// Where a field's value stands in Request::values: a verb's fields in the order of the protocol's table.
struct HelloFields { enum : uint8_t { protocol, count }; };
struct PinsFields { enum : uint8_t { of, count }; };
struct LimitsFields { enum : uint8_t { of, count }; };
struct PulseFields { enum : uint8_t { high, low, setup, count }; };
struct DriveFields { enum : uint8_t { by, form, count }; };
struct IdleFields { enum : uint8_t { ms, count }; };
struct OutputsFields { enum : uint8_t { on, count }; };
struct MoveFields { enum : uint8_t { steps, start, run, gain, count }; };
struct TripFields { enum : uint8_t { rest = MoveFields::count, back, count }; }; // after those of a move
struct PaceFields { enum : uint8_t { steps = MoveFields::steps, each, count }; };
struct CoilFields { enum : uint8_t { pattern, ms, count }; };
struct PairFields { enum : uint8_t { high, low, count }; };
struct RiseFields { enum : uint8_t { high, low, see, at, hold, count }; };
struct ScaleFields { enum : uint8_t { bandgap, count }; };
struct ReadFields { enum : uint8_t { channel, samples, against, count }; };

const uint8_t MOST_VALUES = TripFields::count;
const int32_t LEFT_OUT = -1; // an optional value that was not given

// The value of a word is its place in the list of words the field may be; of the driving form it is Form, of the
// reference sensors::Against.
enum class PinGroup : uint8_t { driver, coils, sense, clips };
enum class LimitGroup : uint8_t { rates, pulse, times, coils };
enum class By : uint8_t { driver, coils, clips };

// A request whose fields are all there and in range.
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
    int32_t last_clip;
    int32_t longest_rest_ms;
};

// Checks verb, greeting, fields and ranges, in the protocol's order.
Refusal read_request(const Frame &frame, bool greeted, const Bounds &bounds, Request &request);

// Whether the verb may be used in this state.
bool allowed_in(Verb verb, State state, const Request &request);

FlashText verb_word(Verb verb);
FlashText state_word(State state);
