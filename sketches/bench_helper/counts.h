// What came over the line, and the index edges seen: counted since reset.
#pragma once

#include <stdint.h>

struct Counts {
    uint16_t good, bad, over_long, order, again, lost;
};

inline void count_one(uint16_t &count) {
    if (count < 65535)
        count++;
}

struct IndexSeen {
    uint32_t count;
    bool level;
    bool untold;
    int32_t fall, rise;
};
