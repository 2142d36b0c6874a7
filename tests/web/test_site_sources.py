"""The house rules of templates and scripts: nothing inline, nothing from elsewhere, small modules, names with .js."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

WEB = Path(__file__).parents[2] / "web"
TEMPLATES = sorted((WEB / "templates").glob("*.html"))
SCRIPTS = sorted((WEB / "static" / "js").glob("*.js"))


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_templates_have_no_inline_script_or_style_and_turn_no_escaping_off(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"\sstyle\s*=|<style|javascript:|\son[a-z]+\s*=\s*[\"']|\|\s*safe", text)
    assert not re.search(r"<script(?![^>]*src=)", text)


@pytest.mark.parametrize("path", [*TEMPLATES, *SCRIPTS, WEB / "static" / "site.css"], ids=lambda path: path.name)
def test_nothing_is_loaded_from_elsewhere(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"(?:https?:)?//(?!www\.w3\.org/)[a-z0-9-]+\.[a-z]{2,}/", text)


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_scripts_are_small_and_import_by_full_name(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 200
    for name in re.findall(r'from "([^"]+)"', text):
        assert name.startswith("./") and (path.parent / name).is_file()
    assert "innerHTML" not in text and "eval(" not in text


def test_every_word_a_form_and_picture_needs_for_screen_readers() -> None:
    for path in TEMPLATES:
        text = path.read_text(encoding="utf-8")
        for image in re.findall(r"<img[^>]*>", text):
            assert "alt=" in image and "width=" in image and "height=" in image
        for field in re.findall(r"<(?:input|select)(?![^>]*type=\"(?:hidden|checkbox|radio|number|{{))[^>]*>", text):
            labelled = re.search(r'id="([^"]+)"', field)
            assert "aria-label" in field or (labelled and f'for="{labelled[1]}"' in text), field


def test_motion_stops_when_asked_to() -> None:
    assert "prefers-reduced-motion: reduce" in (WEB / "static" / "site.css").read_text(encoding="utf-8")
