"""The invented practice, made once for all tests that need the whole way from workbook to report."""

from datetime import date
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory) -> Path:
    from reports.demo import run_demo

    folder = tmp_path_factory.mktemp("demo")
    run_demo(folder, on=date(2026, 1, 15))
    return folder


@pytest.fixture(scope="session")
def demo_workbook(demo_folder) -> Path:
    return demo_folder / "practice.xlsx"


@pytest.fixture(scope="session")
def demo_page(demo_folder) -> Path:
    return demo_folder / "report" / "report.html"
