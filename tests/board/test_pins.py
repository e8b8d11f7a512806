"""The table of pins is that of the sketch as it is shipped."""

from __future__ import annotations

import re
from pathlib import Path

from coilbench.board.pins import PINS

CONFIG = Path(__file__).parents[2] / "sketches" / "bench_helper" / "board_config.h"


def test_sketch_virtual_board_and_drawings_name_the_same_pins() -> None:
    # The second half of the page, after #else, is the board that the virtual one stands for.
    _, small_board = CONFIG.read_text(encoding="utf-8").split("#else")
    shipped = {name: int(number) for name, number in re.findall(r"const int (\w+) = (\d+);", small_board)}
    driver, coils, sense = PINS["driver"], PINS["coils"], PINS["sense"]
    clips = re.search(r"CLIP_PINS\[\] = \{ (.*) \}", small_board)
    assert clips is not None
    assert [int(pin) for pin in clips[1].split(", ")] == list(PINS["clips"].values())[:6]
    assert shipped.pop("BANDGAP_MILLIVOLT")
    assert shipped == {
        "STEP_PIN": driver["step"],
        "DIR_PIN": driver["dir"],
        "ENABLE_PIN": driver["enable"],
        "ENABLE_ACTIVE": driver["active"],
        **{f"COIL_{number}_PIN": coils[name] for number, name in enumerate("abcd", 1)},
        "COIL_ACTIVE": coils["active"],
        "INDEX_PIN": sense["index"],
    }
