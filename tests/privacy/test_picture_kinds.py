"""Settings of the machine are offered for keeping; whatever may name the patient is not."""

from __future__ import annotations

import pytest

from indexer.models.pictured import TextKind
from indexer.privacy.picture_kinds import is_known, kind_of

# What machines write: common practice, no source.
SETTINGS = ("VAC 320 mmHg", "POWER 40 %", "ASP 25 cc/min", "PHACO 12% CDE 8.41", "IOP 55 mmHg", "Vacuum 0")
IDENTIFIERS = (
    "MRN 40718823",
    "DOB 12.05.1983",
    "2024-03-14 09:26:53",
    "VAC 40718823",
    "POWER 40 Underfell 12.05.1983",
    "Tel 0158 34045876",
)


@pytest.mark.parametrize("text", SETTINGS)
def test_settings_are_known_as_such(text: str) -> None:
    assert kind_of(text) is TextKind.SETTING


@pytest.mark.parametrize("text", IDENTIFIERS)
def test_identifiers_are_suspected(text: str) -> None:
    assert kind_of(text) is TextKind.IDENTIFIER


@pytest.mark.parametrize("text", ["", "Underfell vac", "Vac Ysolde", "||//"])
def test_in_doubt_nothing_is_a_setting(text: str) -> None:
    assert kind_of(text) is not TextKind.SETTING


@pytest.mark.parametrize(
    ("text", "name", "known"),
    [
        ("UNDERFELL, YS0LDE", "Ysolde", True),
        ("Underfe1l", "Underfell", True),
        ("Undertell, J.", "Underfell", True),
        ("Vacuum", "Underfell", False),
        ("PHACO 12%", "Ysolde", False),
    ],
)
def test_a_name_of_the_library_is_known_misread_too(text: str, name: str, known: bool) -> None:
    assert is_known(text, [name]) is known


def test_a_name_of_the_library_is_never_a_setting() -> None:
    assert kind_of("POWER Cut", ["Cut Power"]) is TextKind.SETTING
    assert kind_of("LIGHT PUMP", ["Light"]) is TextKind.IDENTIFIER
