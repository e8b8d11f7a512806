// Carries out a request that is whole, in order and in range, and writes the answer's fields.
#pragma once

#include "counts.h"
#include "frames.h"
#include "requests.h"

const uint16_t SKETCH_VERSION = 10300; // major x 10000 + minor x 100 + patch
const uint8_t PROTOCOL_VERSION = 1;

struct Session {
    bool greeted;
    uint16_t next; // number the board expects
    Counts counts;
    IndexSeen index;
};

FlashText chip_word();

// Writes the whole answer, yes or no, to `answer`. True when a reset was asked for.
bool answer_request(const Request &request, uint16_t number, Session &session, FrameWriter &answer);

// The report's fields, also for the line without a check.
void write_report(const Session &session, FrameWriter &answer);
