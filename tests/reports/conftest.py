"""The page of the invented report, and a browser to read it in."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from invented_report import sample_report

from reports.drawing.draw import draw
from reports.formats.to_html import to_html

if TYPE_CHECKING:
    from playwright.sync_api import Browser

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session", params=["sample", "demo"])
def page_file(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages that the browser checks read: a small made-up one, and the whole report of the invented practice."""
    if request.param == "demo":
        return request.getfixturevalue("demo_page")
    report = sample_report()
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(to_html(report, draw(report.figures)), "utf-8", newline="\n")
    return path


@pytest.fixture(scope="module")
def browser() -> Iterator["Browser"]:
    """A Chromium of this computer. It leaves with its module, as its event loop would stop any other in this thread."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    found = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, names)), None)
    if found is None:
        if os.environ.get("TAKEHOLD_BROWSER") == "required":
            pytest.fail("TAKEHOLD_BROWSER=required, but there is no Chromium on the path")
        pytest.skip("no Chromium on the path; install one, or name it in the variable CHROMIUM")
    with sync_api.sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=found, headless=True, args=FLAGS)
        yield chromium
        chromium.close()
