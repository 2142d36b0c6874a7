"""Ordinary English about other things, in which no term may be heard.

To learn from: the texts of `tests/narrations/plain/`, written for that, and the descriptions that installed packages
carry. To judge: the docstrings of installed packages, none of which served for learning.
"""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterator
from importlib import metadata, util
from pathlib import Path

from indexer.models.timed import Cue, Transcript, Word

WORDS_A_SECOND = 2.4
LESSON_WORDS = 600
JUDGED = ("sqlalchemy", "alembic", "flask", "werkzeug", "click", "rich", "pydantic", "numpy", "jinja2")
MARKUP = re.compile(
    r"```.*?```|::\n\n(?:    .*\n)+|<[^>]+>|https?://\S+|:\w+:`[^`]*`|``[^`]*``|[`*_#>=|\[\]{}()-]+", re.DOTALL
)
WORD = re.compile(r"[A-Za-z]")


def prose(text: str) -> str:
    """The lines of a text that read like sentences, markup taken out."""
    lines = [line.strip() for line in MARKUP.sub(" ", text).splitlines()]
    return " ".join(line for line in lines if len(line.split()) >= 6 and sum(map(str.isalpha, line)) > 0.7 * len(line))


def descriptions() -> Iterator[str]:
    """What installed packages say of themselves."""
    seen = set()
    for distribution in metadata.distributions():
        name = distribution.metadata["Name"]
        body = distribution.metadata.get_payload() or distribution.metadata.get("Description") or ""
        if name not in seen:
            seen.add(name)
            yield prose(str(body))


def docstrings(most_words: int = 60_000) -> Iterator[tuple[str, str]]:
    """(module, prose) of the docstrings of installed packages, up to so many words in all."""
    words = 0
    for package in JUDGED:
        spec = util.find_spec(package)
        if spec is None or spec.origin is None:
            continue
        for path in sorted(Path(spec.origin).parent.rglob("*.py")):
            nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
            text = " ".join(prose(ast.get_docstring(node) or "") for node in nodes if isinstance(node, documented))
            if len(text.split()) >= 150:
                words += len(text.split())
                yield f"{package}/{path.stem}", text
                if words >= most_words:
                    return


def lesson_texts(folder: Path) -> Iterator[str]:
    """Texts to learn from, in pieces of the length of a narration."""
    written = [path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.txt"))]
    for text in (*written, *descriptions()):
        spoken = text.split()
        for start in range(0, len(spoken), LESSON_WORDS):
            if len(spoken) - start >= 60:
                yield " ".join(spoken[start : start + LESSON_WORDS])


def transcript(text: str) -> Transcript:
    """A text as if it were spoken, with a short pause now and then."""
    chance = random.Random(text)
    now, words = 0, []
    for spoken in text.split():
        now += round(chance.expovariate(1 / 2000)) if chance.random() < 0.06 else 0
        end = now + round(1000 / WORDS_A_SECOND)
        words.append(Word(text=spoken, start_ms=now, end_ms=end, cue=0))
        now = end
    return Transcript(format="text", cues=(Cue(start_ms=0, end_ms=now, text=text),), words=tuple(words))
