"""The words of the bench, one for one thing: the trade's, each in plain ones, and what is not said in its place.

F1 shows those of a stage. ``tests/house/test_words.py`` holds every screen, command and message against ``not_said``.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """One word and what it ``means``, for the ``stages`` whose help explains it.

    ``not_said`` is a regular expression of what would be another word for the same thing, or the same for another.
    """

    word: str
    means: str = ""
    stages: tuple[str, ...] = ()
    not_said: str = ""


WORDS: tuple[Word, ...] = (
    # What is held in the hand
    Word("bin", "the motors and all that is known of them", not_said=r"\bcrates?\b(?! of)"),
    Word("frame size", "the size of the face plate by its usual name: NEMA 17 is 42 mm", ("intake", "ratings")),
    Word(
        "case",
        "the motor's metal, bare where the paint is off",
        ("windings",),
        not_said=r"\b(the|motor's|to|leaking|leaks) frame\b(?! size)|\bframes?'",
    ),
    Word("label", "what its maker printed on the motor", ("intake", "ratings"), not_said=r"\blabels? from\b"),
    Word("origin", "where the motor came from"),
    Word(
        "DC volts", "the meter's range for a battery's or a reference's voltage", ("driver",), not_said=r"direct volt"
    ),
    # Windings and phases
    Word("winding", "the wire on one or more poles of the motor, with two ends or more", ("windings",)),
    Word("tap", "a lead from the middle of a winding", ("windings",)),
    Word("common", "one lead that several windings share", ("windings",)),
    Word("open", "the meter sees no connection: OL", ("windings",)),
    Word("not connected", "a lead that belongs to no winding", ("windings",)),
    Word("on clips", "each lead on a clip of a helper board, which measures them all at once", ("windings",)),
    Word("phase", "windings that carry current together; a motor has two", ("order",)),
    Word(
        "half-winding",
        "from a centre tap to one end; of eight leads each of the four; where there is no tap, the whole coil",
        ("order", "ratings"),
    ),
    Word("energised", "current flows", ("order",)),
    Word("series resistor", "in the plus wire, so that it limits the current", ("order",)),
    Word("kick", "the meter's short swing when the current in a neighbouring winding begins", ("order",)),
    Word("sequence", "the ends in the order in which they are switched to turn the shaft", ("order",)),
    Word("nudge", "the board energises a phase for a moment", ("order",)),
    # Current
    Word("two phases on", "both phases carry the current", ("ratings", "driver")),
    Word(
        "RMS",
        "the steady current that heats as much; 0.71 of the peak when microstepping",
        ("ratings", "connection", "driver"),
    ),
    Word("peak", "the highest moment of the current, what a driver is set to", ("connection", "driver")),
    Word(
        "temperature-rise test",
        "the winding's ohms cold and hot, which tell how much warmer it got",
        ("ratings",),
        not_said=r"\b(hot )?soaks?\b",
    ),
    Word(
        "back-EMF",
        "the volts that a shaft turned by a drill makes on the leads, the more the stronger the motor",
        ("ratings",),
    ),
    Word(
        "inductance",
        "how slowly the current rises, in henry; meters with an H range read it",
        ("ratings", "connection"),
    ),
    Word("half-coil", "from the centre tap to one end, the other half not connected", ("connection",)),
    Word("series", "end to end, the tap not connected", ("connection",)),
    Word("torque", "at rest, against one half-winding as rated: 1.00", ("connection",), not_said=r"\d\.\d\d T\b"),
    Word("pull-out", "the most torque at a steady speed", ("connection",)),
    Word(
        "target speed",
        "the speed that the shaft has to reach",
        ("connection",),
        not_said=r"\bspeed wanted\b|\bwanted speed\b",
    ),
    # Driver
    Word(
        "live driver",
        "its supply is on: a plug pulled now makes a spark that kills it",
        ("driver", "jog"),
    ),
    Word("VREF", "the reference voltage at the trimmer; the one in the answer is the one to set", ("driver",)),
    Word("a ? in the list", "the chip's figures were not read in its own document", ("driver",)),
    Word("equal heat", "the higher peak that heats a turning motor no more than its rating does", ("driver",)),
    Word("clamp", "where the coil's current goes as its switch opens", ("driver",)),
    Word("chopping level", "where the chip cuts the current off", ("driver",)),
    Word("blanking", "the moment after each switching in which the chip can't look", ("driver",)),
    Word("wiper", "the trimmer's middle contact", ("driver",)),
    Word("ROSC", "a pin that sets the chip's timing; leave it as the board has it", ("driver",)),
    # Motion
    Word(
        "full step",
        "what one change of current moves the shaft, often 1.8°; the driver may cut it into microsteps; steps/s are "
        "full steps a second",
        ("jog",),
    ),
    Word(
        "start-stop (pull-in) rate",
        "the fastest at which it starts and stops at once, without a ramp",
        ("jog",),
        not_said=r"\bfastest start\b",
    ),
    Word(
        "slew (pull-out) rate",
        "the fastest it runs at after a ramp, which gains speed bit by bit",
        ("jog",),
        not_said=r"\bfastest run\b",
    ),
    Word(
        "lost steps",
        "steps that the shaft did not follow",
        ("jog",),
        not_said=r"\b(it|motor|nothing|trials?|and|without) skip(s|ped|ping)?\b|\bskipped steps?\b|\bto see a skip\b",
    ),
    Word(
        "slip of 4 full steps",
        "what lost steps come in: so far the shaft falls behind at a time",
        ("jog",),
        not_said=r"\bjumps?\b",
    ),
    Word("resonance", "low speeds at which the rotor shakes until it loses steps", ("jog",)),
    Word("swing", "the rotor's to and fro about its step; full steps near its frequency shake it most", ("jog",)),
    Word("index sensor", "tells the board each time the flag passes", ("jog",)),
    Word("working figure", "what to set, safely below where steps are lost", ("jog",)),
    Word(
        "H-bridge, transistor array",
        "switches between board and windings, without a current limit of their own",
        ("jog",),
    ),
    # What everybody understands
    Word("needs, takes, is", not_said=r"\bwants\b|\bstands\b|\banew\b"),
    Word("°C", not_said=r"\d ?C\b(?!/W)"),
    Word("estimate", not_said=r"\ba guess yet\b"),
    Word("confidence", not_said=r"\bsure of every lead\b|\bplaced:? [\d.]+ (% )?sure\b"),
)


def words_of(stage: str) -> str:
    """The words of a stage, for its help; empty where it has none of its own."""
    return " ".join(
        f"{each.word[:1].upper()}{each.word[1:]}: {each.means}." for each in WORDS if stage in each.stages
    )
