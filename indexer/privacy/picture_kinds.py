"""What kind of text stands in the picture: a setting of the machine, something that may name the patient, or neither."""

from __future__ import annotations

import re
from collections.abc import Iterable

from rapidfuzz import fuzz

from indexer.models.pictured import TextKind
from indexer.privacy.identifiers import find_identifiers
from indexer.privacy.text import word_set

# Common practice, no source: what the displays of such machines name, and in which units.
_SETTINGS = word_set(
    """
    vac vacuum power phaco us asp aspiration flow irr irrigation iop cde ept infusion bottle height cut rate torsional
    longitudinal pulse burst light lamp air fluid reflux pedal mode max linear actual preset
    """
)
_UNITS = word_set("mmhg cc ml min cm cmh2o khz hz cpm s sec ccmin mlmin") | {"%"}
_WORD = re.compile(r"[^\W\d_]+(?:2o)?|%")
_LONGEST_NUMBER = 4


def kind_of(text: str, names: Iterable[str] = ()) -> TextKind:
    """The kind of a text as it was read, misread letters included. In doubt it is no setting."""
    if is_known(text, names):
        return TextKind.IDENTIFIER
    words = _WORD.findall(text.casefold())
    digits = re.findall(r"\d+", text)
    short = all(len(run) <= _LONGEST_NUMBER for run in digits)
    if words and short and all(word in _SETTINGS or word in _UNITS for word in words):
        return TextKind.SETTING
    if find_identifiers(texts={"picture": text}) or any(len(run) > _LONGEST_NUMBER for run in digits):
        return TextKind.IDENTIFIER
    return TextKind.UNKNOWN


def is_known(text: str, names: Iterable[str]) -> bool:
    """Whether a text holds one of the library's names, as a reader of pictures may misread it."""
    read = _plain(text)
    return any(fuzz.partial_ratio(name, read) >= 85 for name in map(_plain, names) if 4 <= len(name) <= len(read) + 1)


def _plain(text: str) -> str:
    """Letters and digits alone, those that look alike made one."""
    alike = str.maketrans("0156824", "oissbza")
    return "".join(letter for letter in text.casefold() if letter.isalnum()).translate(alike)
