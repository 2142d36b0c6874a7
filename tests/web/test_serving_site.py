"""The site on a real port."""

from __future__ import annotations

import http.client
import socket

import pytest

from indexer.config import Settings
from indexer.errors import ToolFailed
from tests.web.conftest import Filled
from tests.web.running import running
from web.serving import address_of, make_server


def test_it_listens_where_it_says(filled: Filled) -> None:
    with running(filled.library) as address:
        connection = http.client.HTTPConnection("127.0.0.1", int(address.rstrip("/").rsplit(":", 1)[1]), timeout=10)
        connection.request("GET", "/about")
        answer = connection.getresponse()
        assert answer.status == 200 and b"Cautions" in answer.read()
        assert answer.headers["Server"] is None
        connection.close()


def test_a_taken_port_is_said_clearly(filled: Filled) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(ToolFailed, match="Choose another with --port"):
            make_server(filled.library, Settings(port=taken.getsockname()[1]))


@pytest.mark.parametrize(
    ("host", "address"),
    [("127.0.0.1", "http://127.0.0.1:5/"), ("::1", "http://[::1]:5/"), ("0.0.0.0", "http://127.0.0.1:5/")],
)
def test_the_address_can_be_opened(host: str, address: str) -> None:
    assert address_of(host, 5) == address
