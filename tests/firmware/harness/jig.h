/* A motor's leads on clips, as a circuit: the board's pins, the jig's resistors, windings with inductance, whatever else
 * is on a clip. Solved in short steps (two implicit stages each, R. Alexander, "Diagonally implicit Runge-Kutta methods for
 * stiff O.D.E.'s", SIAM J. Numer. Anal. 14, 1977; from memory); volts, ohms, henries, amperes, seconds. */
#ifndef JIG_H
#define JIG_H

#include <stdint.h>

enum { JIG_CLIPS = 8, JIG_NODES = 24, JIG_BRANCHES = 32 };

typedef enum { JIG_FLOATS, JIG_PULLED_UP, JIG_HIGH, JIG_LOW } jig_pin_t;

typedef struct {
    double series, pin_high, pin_low, pull_up, bleed;
    double lag;                      /* of the analogue input, seconds */
    double pull_down;                /* at the digital pin, as of a driver's wiring; 0: none */
    double outside_volt, outside_ohm; /* something else on the clip; 0 ohm: nothing */
} jig_clip_t;

typedef struct {
    int from, to; /* nodes; the first ones are the clips */
    double ohm, henry;
    double emf_volt, emf_hz, emf_phase; /* of a shaft that turns */
    double ampere;
    int mate;      /* 1 + the branch on the same core, 0: none */
    double mutual; /* henry; below zero where the two oppose each other */
} jig_branch_t;

typedef struct {
    int clips, nodes, branches;
    jig_clip_t clip[JIG_CLIPS];
    jig_branch_t branch[JIG_BRANCHES];
    double noise_steps, bend_steps, offset_steps; /* of the converter: noise, integral non-linearity, offset */
    double supply, time;
    double since_change; /* of a pin, seconds */
    jig_pin_t pin[JIG_CLIPS], pin_before[JIG_CLIPS];
    double volt[JIG_NODES], at_input[JIG_CLIPS];
    double most_ampere; /* through any digital pin so far */
    uint64_t random;
} jig_t;

/* `seconds` pass with the pins as they stand in `pin`. */
void jig_pass(jig_t *jig, double seconds);

/* What the converter sees of a clip, volts, with its errors. */
double jig_seen(jig_t *jig, int clip);

#endif
