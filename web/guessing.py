"""Guesses of passwords are slowed down: a few wrong ones, then a wait."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable

from indexer.errors import ScrubmarkError

WINDOW_S = 15 * 60
PER_NAME_AND_ADDRESS, PER_NAME, PER_ADDRESS = 5, 25, 25
"""Wrong passwords within the window: for one name from one address, for one name from all, from one address for all.

The first keeps somebody who guesses from shutting a person out who sits elsewhere.
"""
MOST_KEPT = 10_000


class TooManyGuesses(ScrubmarkError):
    """Somebody has to wait before the next try."""

    def __init__(self, wait_s: int) -> None:
        super().__init__(wait_s)
        self.wait_s = wait_s

    def __str__(self) -> str:
        minutes = max(1, round(self.wait_s / 60))
        return f"Too many tries did not fit. Wait {minutes} minute{'s' if minutes > 1 else ''} and try again."


class Guesses:
    """Counts what did not fit. Safe between threads; forgotten when the site stops."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now, self._lock = now, threading.Lock()
        self._wrong: dict[tuple[str, str], deque[float]] = {}

    def allow(self, name: str, address: str) -> None:
        """Count a try before it is looked at, so that many at once are not more than many in a row.

        Raises TooManyGuesses.
        """
        now = self._now()
        with self._lock:
            self._forget(now)
            waits = [self._wait(key, most, now) for key, most in self._keys(name, address)]
            if any(waits):
                raise TooManyGuesses(int(max(waits)) + 1)
            for key, _ in self._keys(name, address):
                self._wrong.setdefault(key, deque()).append(now)

    def fitted(self, name: str, address: str) -> None:
        """Somebody who knows the password starts from nothing again; the address keeps what others did from it."""
        with self._lock:
            for key, _ in self._keys(name, address)[:2]:
                self._wrong.pop(key, None)
            tries = self._wrong.get(("", address))
            if tries:
                tries.pop()

    def _keys(self, name: str, address: str) -> list[tuple[tuple[str, str], int]]:
        name = " ".join(name.split())[:200]
        return [((name, address), PER_NAME_AND_ADDRESS), ((name, ""), PER_NAME), (("", address), PER_ADDRESS)]

    def _wait(self, key: tuple[str, str], most: int, now: float) -> float:
        tries = self._wrong.get(key, ())
        return WINDOW_S - (now - tries[-most]) if len(tries) >= most else 0.0

    def _forget(self, now: float) -> None:
        for key, tries in list(self._wrong.items()) if len(self._wrong) > MOST_KEPT else ():
            if now - tries[-1] > WINDOW_S:
                del self._wrong[key]
        for tries in self._wrong.values():
            while len(tries) > 1 and now - tries[0] > WINDOW_S:
                tries.popleft()
