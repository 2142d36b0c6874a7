"""Runs one program and ends it when whoever asked for it is gone.

Started as a script of its own, with the program's command line as arguments. Standard input is the leash: when it is
let go, on purpose or because the asking process was killed, the program is ended too. Needs nothing but the standard
library, so that it starts in a few milliseconds.
"""

import contextlib
import os
import subprocess
import sys
import threading
from collections.abc import Callable


def when_let_go(act: Callable[[], object]) -> None:
    """Call `act` once standard input is closed at the other end; watches from a thread of its own."""

    def watch() -> None:
        with contextlib.suppress(OSError):
            while os.read(0, 4096):
                pass
        act()

    threading.Thread(target=watch, daemon=True).start()


def main(command: list[str]) -> int:
    """Run `command` to its end and answer with its exit code, 1 where a signal ended it."""
    child = subprocess.Popen(command, stdin=subprocess.DEVNULL)
    when_let_go(child.kill)
    code = child.wait()
    return code if code >= 0 else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
