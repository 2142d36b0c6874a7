"""Everything that goes wrong becomes one clear page, or one JSON object for the API; never a traceback."""

from __future__ import annotations

import logging
import traceback

from flask import Flask, Response, jsonify, make_response, render_template, request
from werkzeug.exceptions import HTTPException

from indexer.errors import (
    BadInput,
    Conflict,
    LibraryBusy,
    LibraryUnusable,
    NotAllowed,
    NotFound,
    ScrubmarkError,
    ToolFailed,
)

log = logging.getLogger("scrubmark.web")

STATUS: tuple[tuple[type[ScrubmarkError], int], ...] = (
    (NotFound, 404),
    (NotAllowed, 403),
    (Conflict, 409),
    (BadInput, 400),
    (LibraryBusy, 503),
    (LibraryUnusable, 500),
    (ToolFailed, 500),
)
HEADINGS = {
    400: "That could not be read",
    403: "That is not allowed",
    404: "Not here",
    405: "That cannot be done here",
    409: "Somebody was quicker",
    413: "Too much at once",
    416: "There is no such stretch",
    421: "This site does not answer to that name",
    500: "Something went wrong",
    503: "Not at the moment",
}
SENTENCES = {
    403: "Another site asked for this. Nothing was changed.",
    404: "There is nothing at this address, or nothing that you may see.",
    405: "This address cannot be used in that way.",
    416: "The recording is shorter than the part that was asked for.",
    421: "Open it by the address that the console printed when it started.",
}


class RecordingAway(ScrubmarkError):
    """A recording is known, but the drive or folder that holds it is not there."""

    def __str__(self) -> str:
        return (
            "The recording is not where it was: its drive is away or the file was moved. Search, words and stills "
            "go on working. Connect the drive, or put the file back, and open the page again."
        )


def status_of(fault: ScrubmarkError) -> int:
    """The HTTP status that an error of ours stands for."""
    if isinstance(fault, RecordingAway):
        return 503
    return next((status for kind, status in STATUS if isinstance(fault, kind)), 500)


def tell(status: int, sentence: str) -> Response:
    """The answer that tells a person, or a program, what happened."""
    heading = HEADINGS.get(status, "That did not work")
    if request.path.startswith("/api/"):
        answer = jsonify(error=sentence, status=status)
    elif request.path.startswith(("/film/", "/still/")):
        answer = Response(sentence + "\n", content_type="text/plain; charset=utf-8")
    else:
        answer = make_response(render_template("fault.html", heading=heading, sentence=sentence))
    answer.status_code = status
    return answer


def where(fault: BaseException) -> str:
    """The kind of a fault and the lines it came through, without what it says: that may be words of a patient."""
    return "".join(traceback.format_tb(fault.__traceback__)) + type(fault).__name__


def put_faults(app: Flask) -> None:
    """Catch what the pages raise, at this one place."""

    @app.errorhandler(ScrubmarkError)
    def ours(fault: ScrubmarkError) -> Response:
        status = status_of(fault)
        if status == 500:
            log.error("%s: %s", type(fault).__name__, fault)
        return tell(status, str(fault))

    @app.errorhandler(HTTPException)
    def of_the_web(fault: HTTPException) -> Response:
        status = fault.code or 500
        if 300 <= status < 400:
            return make_response(fault.get_response())
        answer = tell(status, SENTENCES.get(status, "The request could not be answered."))
        for name, value in fault.get_headers():
            if name.lower() in ("content-range", "allow"):
                answer.headers[name] = value
        return answer

    @app.errorhandler(Exception)
    def unforeseen(fault: Exception) -> Response:
        log.error("%s %s\n%s", request.method, request.endpoint, where(fault))
        return tell(500, "This was not foreseen; nothing in the library was changed. The console says more.")
