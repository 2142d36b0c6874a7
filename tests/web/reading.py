"""A test client that reads each answer to its end and closes it, as a server does."""

from __future__ import annotations

from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse


class ReadingClient(FlaskClient):
    """Buffers every answer, so that no file stays open behind one."""

    def open(self, *args: Any, **more: Any) -> TestResponse:
        """Send a request and take the whole answer."""
        more.setdefault("buffered", True)
        return super().open(*args, **more)
