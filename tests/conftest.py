"""What holds for all tests."""

from __future__ import annotations

import os
from collections.abc import Generator
from typing import Any

import pytest


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, Any, Any]:
    """Where the tests have to be complete (CI=true), one that is left out has failed."""
    report = yield
    if os.environ.get("CI") == "true" and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome, report.longrepr = "failed", f"{item.nodeid} was left out: {reason}"
    return report
