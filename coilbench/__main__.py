"""`python -m coilbench`, and `python3 coilbench` in a checkout, which first makes the environment it needs."""

from __future__ import annotations

import os
import shlex
import sys


def _from_checkout() -> None:
    from setup_env import prepare, run_in  # type: ignore[import-not-found]  # the folder itself is on the path

    os.environ["COILBENCH_STARTED_AS"] = f"python3 {shlex.quote(sys.argv[0])}"
    # -P: the code of this checkout, whatever folder it is started from.
    run_in(prepare(), "-P", "-m", "coilbench", *sys.argv[1:])


try:
    if __package__:
        from coilbench.cli import main

        raise SystemExit(main())
    _from_checkout()
except KeyboardInterrupt:  # before the command, or after it
    raise SystemExit(130) from None
