"""Ranges of a film. The rows are those of RFC 9110, 14.1.2 and 14.2, for a file of 10,000 bytes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask, Response, request, send_file
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from tests.web.reading import ReadingClient
from web.faults import put_faults
from web.ranges import chosen_range, settle_range

LENGTH = 10_000
BYTES = bytes(i * 7 % 251 for i in range(LENGTH))


@pytest.fixture
def files(tmp_path: Path) -> Iterator[FlaskClient]:
    """A site with one file of 10,000 bytes and an empty one, sent as films are."""
    (tmp_path / "film.mp4").write_bytes(BYTES)
    (tmp_path / "empty.mp4").write_bytes(b"")
    app = Flask("files", template_folder=str(Path(__file__).parents[2] / "web" / "templates"))
    app.test_client_class = ReadingClient
    put_faults(app)

    @app.route("/film/<name>", methods=["GET", "POST"])
    def film(name: str) -> Response:
        settle_range(request, (tmp_path / name).stat().st_size)
        answer = send_file(tmp_path / name, conditional=True)
        answer.headers["Accept-Ranges"] = "bytes"
        return answer

    yield app.test_client()


@pytest.mark.parametrize(
    ("header", "first", "last"),
    [
        ("bytes=0-499", 0, 499),
        ("bytes=500-999", 500, 999),
        ("bytes=-500", 9500, 9999),
        ("bytes=9500-", 9500, 9999),
        ("bytes=0-", 0, 9999),
        ("bytes=9500-20000", 9500, 9999),
        ("bytes=-20000", 0, 9999),
        ("bytes= 0-999", 0, 999),
        ("BYTES=0-0", 0, 0),
        ("bytes=0-99999999999999999999999999", 0, 9999),
        ("bytes=-99999999999999999999999999", 0, 9999),
    ],
)
def test_a_satisfiable_range_gets_exactly_its_bytes(files: FlaskClient, header: str, first: int, last: int) -> None:
    answer = files.get("/film/film.mp4", headers={"Range": header})
    assert answer.status_code == 206
    assert answer.headers["Content-Range"] == f"bytes {first}-{last}/{LENGTH}"
    assert answer.headers["Content-Length"] == str(last - first + 1)
    assert answer.data == BYTES[first : last + 1]


@pytest.mark.parametrize(
    "header", ["bytes=10000-", "bytes=-0", "bytes=99999999999999999999999999-", "bytes=20000-30000"]
)
def test_an_unsatisfiable_range_is_told_the_length(files: FlaskClient, header: str) -> None:
    answer = files.get("/film/film.mp4", headers={"Range": header})
    assert answer.status_code == 416
    assert answer.headers["Content-Range"] == f"bytes */{LENGTH}"


@pytest.mark.parametrize(
    "header",
    [
        "seconds=0-10",
        "bytes=500-499",
        "bytes=abc",
        "bytes=",
        "bytes=--5",
        "bytes=-",
        "bytes=1-2-3",
        "bytes=٣-٤",
        "bytes=0-0,-1",
        "bytes= 0-999, 4500-5499, -1000",
        "bytes=500-600,601-999",
        "bytes=" + ",".join(f"{i}-{i}" for i in range(900)),
    ],
)
def test_other_units_invalid_and_several_ranges_get_the_whole_file(files: FlaskClient, header: str) -> None:
    answer = files.get("/film/film.mp4", headers={"Range": header.encode("utf-8").decode("latin-1")})
    assert (answer.status_code, answer.data) == (200, BYTES)
    assert answer.headers["Accept-Ranges"] == "bytes"
    assert "Content-Range" not in answer.headers


@pytest.mark.parametrize("method", ["HEAD", "POST"])
def test_a_range_counts_for_get_alone(files: FlaskClient, method: str) -> None:
    answer = files.open("/film/film.mp4", method=method, headers={"Range": "bytes=0-9"})
    assert answer.status_code == 200
    assert answer.headers["Content-Length"] == str(LENGTH)


@pytest.mark.parametrize("header", ["bytes=0-", "bytes=-5", "bytes=0-0"])
def test_an_empty_file_never_breaks(files: FlaskClient, header: str) -> None:
    answer = files.get("/film/empty.mp4", headers={"Range": header})
    assert answer.status_code in (200, 416)
    assert b"Traceback" not in answer.data


def test_if_range_with_the_right_tag_gets_the_range(files: FlaskClient) -> None:
    tag = files.get("/film/film.mp4").headers["ETag"]
    answer = files.get("/film/film.mp4", headers={"Range": "bytes=0-9", "If-Range": tag})
    assert (answer.status_code, answer.data) == (206, BYTES[:10])


@pytest.mark.parametrize("tag", ['"stale"', "Wed, 21 Oct 2015 07:28:00 GMT"])
def test_if_range_with_a_stale_tag_or_date_gets_the_whole_file(files: FlaskClient, tag: str) -> None:
    answer = files.get("/film/film.mp4", headers={"Range": "bytes=0-9", "If-Range": tag})
    assert (answer.status_code, len(answer.data)) == (200, LENGTH)


def test_if_range_with_a_weak_tag_gets_the_whole_file(files: FlaskClient) -> None:
    tag = files.get("/film/film.mp4").headers["ETag"]
    answer = files.get("/film/film.mp4", headers={"Range": "bytes=0-9", "If-Range": f"W/{tag}"})
    assert (answer.status_code, len(answer.data)) == (200, LENGTH)


def test_not_modified_wins_over_a_range(files: FlaskClient) -> None:
    tag = files.get("/film/film.mp4").headers["ETag"]
    answer = files.get("/film/film.mp4", headers={"Range": "bytes=0-9", "If-None-Match": tag})
    assert answer.status_code == 304


@given(st.text(max_size=60), st.integers(0, 10**7))
def test_no_header_chooses_bytes_that_are_not_there(text: str, length: int) -> None:
    for header in (text, f"bytes={text}"):
        chosen = chosen_range(header, length)
        assert chosen in ("all", "none") or 0 <= chosen[0] < chosen[1] <= length
