#include "requests.h"

#include <string.h>

#include "bounds.h"

namespace {

enum class Kind : uint8_t { number, not_zero, rate, rest, channel, may_be, clip, held, protocol, pattern, words, form, against };

struct Rule {
    char name[9];
    Kind kind;
    int32_t low, high; // of numbers
    FlashText words;   // of words: separated by spaces
};

const char FIELD[] PROGMEM = "field";
const char RANGE[] PROGMEM = "range";

const uint8_t ONLY_IDLE = 1 << (uint8_t)State::idle;
const uint8_t AT_REST = ONLY_IDLE | 1 << (uint8_t)State::coil;
const uint8_t ANY = 0xFF;

// A verb's rules, in program memory.
struct Rules {
    const Rule *first;
    uint8_t count;
};

struct VerbRule {
    char name[8];
    uint8_t states;
    Rules rules;
};

const char PIN_GROUPS[] PROGMEM = "driver coils sense clips";
const char LIMIT_GROUPS[] PROGMEM = "rates pulse times coils";
const char DRIVEN_BY[] PROGMEM = "driver coils clips";
const char FORMS[] PROGMEM = "wave full half";
const char REFERENCES[] PROGMEM = "supply bandgap";

// A trip takes what a move takes, and more.
constexpr Rule STEPS = { "steps", Kind::not_zero, -MOST_STEPS, MOST_STEPS, nullptr };
constexpr Rule START = { "start", Kind::rate, LOWEST_RATE, 0, nullptr };
constexpr Rule RUN = { "run", Kind::rate, LOWEST_RATE, 0, nullptr };
constexpr Rule GAIN = { "gain", Kind::number, 1, HIGHEST_GAIN, nullptr };

const Rule HELLO[] PROGMEM = { { "protocol", Kind::protocol, 1, 9999, nullptr } };
const Rule PINS[] PROGMEM = { { "of", Kind::words, 0, 0, PIN_GROUPS } };
const Rule LIMITS[] PROGMEM = { { "of", Kind::words, 0, 0, LIMIT_GROUPS } };
const Rule PULSE[] PROGMEM = {
    { "high", Kind::number, SHORTEST_PULSE_NS, LONGEST_PULSE_NS, nullptr },
    { "low", Kind::number, SHORTEST_PULSE_NS, LONGEST_PULSE_NS, nullptr },
    { "setup", Kind::number, SHORTEST_SETUP_NS, LONGEST_SETUP_NS, nullptr },
};
const Rule DRIVE[] PROGMEM = {
    { "by", Kind::words, 0, 0, DRIVEN_BY },
    { "form", Kind::form, 0, 0, FORMS },
};
const Rule IDLE[] PROGMEM = { { "ms", Kind::number, SHORTEST_IDLE_MS, LONGEST_IDLE_MS, nullptr } };
const Rule OUTPUTS[] PROGMEM = { { "on", Kind::number, 0, 1, nullptr } };
const Rule MOVE[] PROGMEM = { STEPS, START, RUN, GAIN };
const Rule TRIP[] PROGMEM = {
    STEPS,
    START,
    RUN,
    GAIN,
    { "rest", Kind::rest, 0, 0, nullptr },
    { "back", Kind::rate, LOWEST_RATE, 0, nullptr },
};
const Rule PACE[] PROGMEM = {
    { "steps", Kind::not_zero, -MOST_PACED, MOST_PACED, nullptr },
    { "each", Kind::number, SHORTEST_PACE_MS, LONGEST_PACE_MS, nullptr },
};
const Rule COIL[] PROGMEM = {
    { "pattern", Kind::pattern, 0, 15, nullptr },
    { "ms", Kind::number, 1, COIL_MS, nullptr },
};
const Rule PAIR[] PROGMEM = {
    { "high", Kind::clip, 1, 0, nullptr },
    { "low", Kind::clip, 1, 0, nullptr },
};
const Rule RISE[] PROGMEM = {
    { "high", Kind::clip, 1, 0, nullptr },
    { "low", Kind::clip, 1, 0, nullptr },
    { "see", Kind::clip, 1, 0, nullptr },
    { "at", Kind::number, SOONEST_RISE, LATEST_RISE, nullptr },
    { "hold", Kind::held, 1, 0, nullptr },
};
const Rule READ[] PROGMEM = {
    { "channel", Kind::channel, 0, 0, nullptr },
    { "samples", Kind::may_be, 1, MOST_SAMPLES, nullptr },
    { "against", Kind::against, 0, 0, REFERENCES },
};
const Rule SCALE[] PROGMEM = { { "bandgap", Kind::may_be, LEAST_BANDGAP_MV, MOST_BANDGAP_MV, nullptr } };

constexpr Rules NO_FIELDS = { nullptr, 0 };

template <class Fields, uint8_t COUNT> constexpr Rules rules_of(const Rule (&rules)[COUNT]) {
    static_assert(COUNT == Fields::count, "a rule for every field");
    static_assert(COUNT <= MOST_VALUES, "room for every value");
    return Rules{ rules, COUNT };
}

// In the order of enum Verb.
const VerbRule VERBS[] PROGMEM = {
    { "hello", ANY, rules_of<HelloFields>(HELLO) },
    { "report", ANY, NO_FIELDS },
    { "pins", ANY, rules_of<PinsFields>(PINS) },
    { "limits", ANY, rules_of<LimitsFields>(LIMITS) },
    { "counts", ANY, NO_FIELDS },
    { "beat", ANY, NO_FIELDS },
    { "pulse", ONLY_IDLE, rules_of<PulseFields>(PULSE) },
    { "drive", ONLY_IDLE, rules_of<DriveFields>(DRIVE) },
    { "idle", ANY, rules_of<IdleFields>(IDLE) },
    { "outputs", ONLY_IDLE, rules_of<OutputsFields>(OUTPUTS) },
    { "move", ONLY_IDLE, rules_of<MoveFields>(MOVE) },
    { "trip", ONLY_IDLE, rules_of<TripFields>(TRIP) },
    { "pace", ONLY_IDLE, rules_of<PaceFields>(PACE) },
    { "ease", ANY, NO_FIELDS },
    { "stop", ANY, NO_FIELDS },
    { "coil", AT_REST, rules_of<CoilFields>(COIL) },
    { "read", AT_REST, rules_of<ReadFields>(READ) },
    { "pair", ONLY_IDLE, rules_of<PairFields>(PAIR) },
    { "rise", ONLY_IDLE, rules_of<RiseFields>(RISE) },
    { "scale", ONLY_IDLE, rules_of<ScaleFields>(SCALE) },
    { "supply", AT_REST, NO_FIELDS },
    { "index", ANY, NO_FIELDS },
    { "zero", ONLY_IDLE, NO_FIELDS },
    { "reset", ANY, NO_FIELDS },
};
static_assert(sizeof VERBS / sizeof *VERBS == (uint8_t)Verb::none, "a row for every verb");

// Place of `text` in a list of words, or -1.
int8_t place_in(FlashText list, const Text &text) {
    int8_t place = 0;
    uint8_t matched = 0;
    bool fits = true;
    for (;; list++) {
        char letter = (char)pgm_read_byte(list);
        if (letter && letter != ' ') {
            fits = fits && matched < text.length && text.start[matched] == letter;
            matched++;
            continue;
        }
        if (fits && matched == text.length)
            return place;
        if (!letter)
            return -1;
        place++;
        matched = 0;
        fits = true;
    }
}

Verb verb_of(const Text &word, VerbRule &rule) {
    for (uint8_t i = 0; i < (uint8_t)Verb::none; i++) {
        memcpy_P(&rule, &VERBS[i], sizeof rule);
        if (strlen(rule.name) == word.length && memcmp(rule.name, word.start, word.length) == 0)
            return (Verb)i;
    }
    return Verb::none;
}

bool takes_words(const Rule &rule) {
    return rule.kind == Kind::words || rule.kind == Kind::form || rule.kind == Kind::against;
}

bool may_be_left_out(const Rule &rule) {
    return rule.kind == Kind::form || rule.kind == Kind::may_be || rule.kind == Kind::against || rule.kind == Kind::held;
}

bool named(const Field &field, const Rule &rule) {
    return strlen(rule.name) == field.name.length && memcmp(rule.name, field.name.start, field.name.length) == 0;
}

const Field *find(const Frame &frame, const Rule &rule) {
    for (uint8_t i = 0; i < frame.field_count; i++)
        if (named(frame.fields[i], rule))
            return &frame.fields[i];
    return nullptr;
}

Rule rule_at(const Rules &rules, uint8_t place) {
    Rule rule;
    memcpy_P(&rule, rules.first + place, sizeof rule);
    return rule;
}

Refusal refusal(FlashText word, Text at = Text{ nullptr, 0 }) { return Refusal{ word, at, false, 0, 0 }; }

// The names of missing fields are told from here; the rule they come from lives no longer than a loop.
Text name_in_static_room(const Rule &rule) {
    static char room[sizeof rule.name];
    memcpy(room, rule.name, sizeof room);
    return Text{ room, (uint8_t)strlen(room) };
}

Refusal check_fields(const Frame &frame, const Rules &rules) {
    for (uint8_t i = 0; i < frame.field_count; i++) {
        bool known = false;
        for (uint8_t place = 0; place < rules.count && !known; place++) {
            Rule rule = rule_at(rules, place);
            known = named(frame.fields[i], rule) && frame.fields[i].is_number != takes_words(rule);
        }
        if (!known)
            return refusal(FIELD, frame.fields[i].name);
    }
    for (uint8_t place = 0; place < rules.count; place++) {
        Rule rule = rule_at(rules, place);
        if (!may_be_left_out(rule) && !find(frame, rule))
            return refusal(FIELD, name_in_static_room(rule));
    }
    return refusal(nullptr);
}

Refusal check_number(const Field &field, Rule rule, const Bounds &bounds) {
    int32_t number = field.number;
    if (rule.kind == Kind::rate)
        rule.high = bounds.highest_rate;
    if (rule.kind == Kind::rest)
        rule.high = bounds.longest_rest_ms;
    if (rule.kind == Kind::channel)
        rule.high = bounds.last_channel;
    if (rule.kind == Kind::clip || rule.kind == Kind::held)
        rule.high = bounds.last_clip;
    if (rule.kind == Kind::protocol && number >= rule.low && number <= rule.high)
        rule.high = 1; // a number it may be, but not one this sketch speaks
    if (number >= rule.low && number <= rule.high && !(rule.kind == Kind::not_zero && number == 0)) {
        if (rule.kind == Kind::pattern && opposite_coils((uint8_t)number))
            return refusal(RANGE, field.name);
        return refusal(nullptr);
    }
    return Refusal{ RANGE, field.name, true, rule.low, rule.high };
}

} // namespace

Refusal read_request(const Frame &frame, bool greeted, const Bounds &bounds, Request &request) {
    VerbRule verb;
    request.verb = verb_of(frame.word, verb);
    if (request.verb == Verb::none)
        return refusal(PSTR("verb"));
    bool open_to_all = request.verb == Verb::hello || request.verb == Verb::report || request.verb == Verb::counts
                       || request.verb == Verb::stop;
    if (!greeted && !open_to_all)
        return refusal(PSTR("greet"));
    Refusal refused = check_fields(frame, verb.rules);
    for (uint8_t place = 0; place < verb.rules.count && !refused.word; place++) {
        Rule rule = rule_at(verb.rules, place);
        const Field *field = find(frame, rule);
        request.values[place] = LEFT_OUT;
        if (!field)
            continue;
        if (!takes_words(rule)) {
            refused = check_number(*field, rule, bounds);
            request.values[place] = field->number;
            continue;
        }
        request.values[place] = place_in(rule.words, field->words);
        bool fits = request.values[place] >= 0;
        if (rule.kind == Kind::form && request.values[DriveFields::by] != (int32_t)By::coils)
            fits = false; // nothing else has patterns
        if (!fits)
            refused = refusal(RANGE, field->name);
    }
    bool drives = request.verb == Verb::pair || request.verb == Verb::rise;
    if (drives && !refused.word && request.values[PairFields::high] == request.values[PairFields::low])
        refused = refusal(RANGE, find(frame, rule_at(verb.rules, PairFields::low))->name);
    return refused;
}

bool allowed_in(Verb verb, State state, const Request &request) {
    if (verb == Verb::outputs && state == State::coil && !request.values[OutputsFields::on])
        return true;
    VerbRule rule;
    memcpy_P(&rule, &VERBS[(uint8_t)verb], sizeof rule);
    return rule.states >> (uint8_t)state & 1;
}

FlashText verb_word(Verb verb) { return VERBS[(uint8_t)verb].name; }

FlashText state_word(State state) {
    switch (state) {
    case State::moving:
        return PSTR("moving");
    case State::resting:
        return PSTR("resting");
    case State::returning:
        return PSTR("returning");
    case State::easing:
        return PSTR("easing");
    case State::coil:
        return PSTR("coil");
    default:
        return PSTR("idle");
    }
}
