#include "requests.h"

#include <string.h>

#include "limits.h"

namespace {

enum class Kind : uint8_t { number, not_zero, rate, rest, channel, protocol, pattern, words, form };

struct Rule {
    char name[9];
    Kind kind;
    int32_t low, high; // of numbers
    char words[20];    // of words: separated by spaces
};

const char FIELD[] PROGMEM = "field";
const char RANGE[] PROGMEM = "range";

const uint8_t ONLY_IDLE = 1 << (uint8_t)State::idle;
const uint8_t AT_REST = ONLY_IDLE | 1 << (uint8_t)State::coil;
const uint8_t ANY = 0xFF;

struct VerbRule {
    char name[8];
    uint8_t states;
    uint8_t first_rule, rule_count;
};

const Rule RULES[] PROGMEM = {
    /* 0 hello */ { "protocol", Kind::protocol, 1, 9999, "" },
    /* 1 pins */ { "of", Kind::words, 0, 0, "driver coils sense" },
    /* 2 limits */ { "of", Kind::words, 0, 0, "rates pulse times" },
    /* 3 pulse */ { "high", Kind::number, SHORTEST_PULSE_NS, LONGEST_PULSE_NS, "" },
    { "low", Kind::number, SHORTEST_PULSE_NS, LONGEST_PULSE_NS, "" },
    { "setup", Kind::number, SHORTEST_SETUP_NS, LONGEST_SETUP_NS, "" },
    /* 6 drive */ { "by", Kind::words, 0, 0, "driver coils" },
    { "form", Kind::form, 0, 0, "wave full half" },
    /* 8 idle */ { "ms", Kind::number, SHORTEST_IDLE_MS, LONGEST_IDLE_MS, "" },
    /* 9 outputs */ { "on", Kind::number, 0, 1, "" },
    /* 10 move, trip */ { "steps", Kind::not_zero, -MOST_STEPS, MOST_STEPS, "" },
    { "start", Kind::rate, LOWEST_RATE, 0, "" },
    { "run", Kind::rate, LOWEST_RATE, 0, "" },
    { "gain", Kind::number, 1, HIGHEST_GAIN, "" },
    { "rest", Kind::rest, 0, 0, "" },
    { "back", Kind::rate, LOWEST_RATE, 0, "" },
    /* 16 coil */ { "pattern", Kind::pattern, 0, 15, "" },
    { "ms", Kind::number, 1, COIL_MS, "" },
    /* 18 read */ { "channel", Kind::channel, 0, 0, "" },
};

// In the order of enum Verb.
const VerbRule VERBS[] PROGMEM = {
    { "hello", ANY, 0, 1 },       { "report", ANY, 0, 0 },   { "pins", ANY, 1, 1 },     { "limits", ANY, 2, 1 },
    { "counts", ANY, 0, 0 },      { "beat", ANY, 0, 0 },     { "pulse", ONLY_IDLE, 3, 3 },
    { "drive", ONLY_IDLE, 6, 2 }, { "idle", ANY, 8, 1 },     { "outputs", ONLY_IDLE, 9, 1 },
    { "move", ONLY_IDLE, 10, 4 }, { "trip", ONLY_IDLE, 10, 6 }, { "ease", ANY, 0, 0 },  { "stop", ANY, 0, 0 },
    { "coil", AT_REST, 16, 2 }, { "read", AT_REST, 18, 1 }, { "supply", AT_REST, 0, 0 },
    { "index", ANY, 0, 0 },       { "zero", ONLY_IDLE, 0, 0 }, { "reset", ANY, 0, 0 },
};
static_assert(sizeof VERBS / sizeof *VERBS == (uint8_t)Verb::none, "a row for every verb");

// Place of `text` in a list of words, or -1.
int8_t place_in(const char *list, const Text &text) {
    for (int8_t place = 0; *list; place++) {
        uint8_t length = 0;
        while (list[length] && list[length] != ' ')
            length++;
        if (length == text.length && memcmp(list, text.start, length) == 0)
            return place;
        list += length;
        if (*list)
            list++;
    }
    return -1;
}

Verb verb_of(const Text &word, VerbRule &rule) {
    for (uint8_t i = 0; i < (uint8_t)Verb::none; i++) {
        memcpy_P(&rule, &VERBS[i], sizeof rule);
        if (strlen(rule.name) == word.length && memcmp(rule.name, word.start, word.length) == 0)
            return (Verb)i;
    }
    return Verb::none;
}

bool takes_words(const Rule &rule) { return rule.kind == Kind::words || rule.kind == Kind::form; }

bool named(const Field &field, const Rule &rule) {
    return strlen(rule.name) == field.name.length && memcmp(rule.name, field.name.start, field.name.length) == 0;
}

const Field *find(const Frame &frame, const Rule &rule) {
    for (uint8_t i = 0; i < frame.field_count; i++)
        if (named(frame.fields[i], rule))
            return &frame.fields[i];
    return nullptr;
}

Rule rule_at(const VerbRule &verb, uint8_t place) {
    Rule rule;
    memcpy_P(&rule, &RULES[verb.first_rule + place], sizeof rule);
    return rule;
}

Refusal refusal(FlashText word, Text at = Text{ nullptr, 0 }) { return Refusal{ word, at, false, 0, 0 }; }

// The names of missing fields are told from here; the rule they come from lives no longer than a loop.
Text name_in_static_room(const Rule &rule) {
    static char room[sizeof rule.name];
    memcpy(room, rule.name, sizeof room);
    return Text{ room, (uint8_t)strlen(room) };
}

Refusal check_fields(const Frame &frame, const VerbRule &verb) {
    for (uint8_t i = 0; i < frame.field_count; i++) {
        bool known = false;
        for (uint8_t place = 0; place < verb.rule_count && !known; place++) {
            Rule rule = rule_at(verb, place);
            known = named(frame.fields[i], rule) && frame.fields[i].is_number != takes_words(rule);
        }
        if (!known)
            return refusal(FIELD, frame.fields[i].name);
    }
    for (uint8_t place = 0; place < verb.rule_count; place++) {
        Rule rule = rule_at(verb, place);
        if (rule.kind != Kind::form && !find(frame, rule))
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
    Refusal refused = check_fields(frame, verb);
    for (uint8_t place = 0; place < verb.rule_count && !refused.word; place++) {
        Rule rule = rule_at(verb, place);
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
        if (rule.kind == Kind::form && request.values[0] == 0)
            fits = false; // a driver has no pattern
        if (!fits)
            refused = refusal(RANGE, field->name);
    }
    return refused;
}

bool allowed_in(Verb verb, State state, const Request &request) {
    if (verb == Verb::outputs && state == State::coil && request.values[0] == 0)
        return true;
    VerbRule rule;
    memcpy_P(&rule, &VERBS[(uint8_t)verb], sizeof rule);
    return rule.states >> (uint8_t)state & 1;
}

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
