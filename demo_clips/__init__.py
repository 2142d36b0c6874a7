"""Invented operations of an invented eye unit, drawn and narrated for the demo. Nothing in them is real."""

from __future__ import annotations

from demo_clips.making import DemoOperation, make_demo

__all__ = ["DemoOperation", "make_demo"]
