"""The site on a free port of this machine, for as long as a test needs it."""

from __future__ import annotations

import gc
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

from indexer.catalogue.library import Library
from indexer.config import Settings
from web.serving import make_server


@contextmanager
def running(library: Library, *, shut: bool = False) -> Iterator[str]:
    """Serve a library; gives the address of its first page, or if `shut`, the one that lets in."""
    server, address = make_server(library, Settings(port=0), None if shut else lambda library: library.owner)
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        yield address
    finally:
        server.close()
        thread.join(10)
        del server, thread
        with warnings.catch_warnings():
            # waitress leaves the pipe that wakes its loop to the garbage collector.
            warnings.simplefilter("ignore", ResourceWarning)
            gc.collect()
