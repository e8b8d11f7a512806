"""Cautions that stand in more than one place, each worded once; common practice at the bench.

A caution that belongs to one act alone stands with that act. Whoever tells a person to power, heat or open something
says the one that belongs to it, there and once.
"""

from __future__ import annotations

LIVE_DRIVER = "never plug or unplug a motor on a live driver"
QUALIFIED = "local code and a qualified person decide"
MAINS = f"on the mains {QUALIFIED}"
FROM_THE_MAINS = "mains machines: unplug, let capacitors empty, before you reach in"
CHARGED = "capacitors in scrapped supplies stay charged"
