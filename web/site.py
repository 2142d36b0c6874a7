"""The site, put together: pages, media, API, safety, and what the templates may use."""

from __future__ import annotations

from pathlib import Path

from flask import Flask

from indexer import cautions, timespan
from indexer.catalogue.library import Library
from indexer.config import Settings
from web import words
from web.api.marking import marking_api
from web.api.routes import api
from web.faults import put_faults
from web.guard import put_guard
from web.look import chosen_look, look
from web.media import media
from web.pages.about import about
from web.pages.case import case
from web.pages.cases import cases, recording_of
from web.pages.consents import consents
from web.pages.find import find, passage_address
from web.pages.marking import marking
from web.pages.people import people
from web.pages.times import times
from web.signing_in import door, put_door
from web.terms import Terms
from web.viewing import ViewerOf, seen_viewer, who_signed_in

LARGEST_FORM = 64 * 1024
"""Bytes that a request may carry; only small forms are taken."""
STATIC_AGE_S = 60
"""Seconds for which a browser keeps scripts and styles without asking; they hold nothing of a patient."""
SCRIPTS = Path(__file__).parent / "static" / "js"


def create_app(library: Library, settings: Settings, viewer_of: ViewerOf | None = None) -> Flask:
    """The site of one library. `viewer_of` says for whom a request is answered, instead of signing in."""
    app = Flask("web", static_url_path="/static")
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_FORM
    app.config["SEND_FILE_MAX_AGE_DEFAULT"] = STATIC_AGE_S
    app.extensions["library"] = library
    app.extensions["terms"] = terms = Terms(library.vocabulary)
    app.extensions["viewer_of"] = viewer_of or who_signed_in
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.filters["clock"] = timespan.clock
    app.jinja_env.globals.update(
        caution=cautions.SHORT,
        passage_address=passage_address,
        scripts=sorted(script.name for script in SCRIPTS.glob("*.js")),
        recording_of=recording_of,
        chosen_look=chosen_look,
        seen_viewer=seen_viewer,
        terms=terms,
        facet_words=words.SHORT_FACETS,
        meant=words.MEANT,
        assertion_words=words.ASSERTIONS,
        kinds=words.KINDS,
        eyes=words.EYES,
        releases=words.RELEASES,
        reasons=words.REASONS,
    )
    put_guard(app, settings.host)
    put_faults(app)
    put_door(app, settings, shut=viewer_of is None)
    for blueprint in (find, case, cases, about, media, look, api, marking, marking_api, door, people, consents):
        app.register_blueprint(blueprint)
    app.register_blueprint(times)
    return app
