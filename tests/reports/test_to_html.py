"""The page as text: order, escaping, its content policy, the same bytes twice."""

import base64
import hashlib
import re
from dataclasses import replace

import pytest
from invented_report import sample_report

from reports.document import Caution
from reports.formats.to_html import to_html

DRAWINGS = {
    name: f'<svg xmlns="http://www.w3.org/2000/svg" id="{name}-svg"></svg>'
    for name in ("healing-curve", "healing-curve-again")
}


@pytest.fixture(scope="module")
def page() -> str:
    return to_html(sample_report(), DRAWINGS)


def test_page_repeats_byte_for_byte(page):
    assert to_html(sample_report(), DRAWINGS) == page


def test_page_reads_cautions_first_and_provenance_last(page):
    marks = (
        "Not clinical advice.",
        '<h2 id="in-short-head">',
        ">Take</h2>",
        ">Healing</h2>",
        ">Definitions</h2>",
        "20240229",
    )
    places = [page.index(mark) for mark in marks]
    assert places == sorted(places)


def test_content_policy_names_the_style_sheet_by_hash_and_nothing_else(page):
    style = re.search("<style>(.*)</style>", page, re.DOTALL)[1]
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = re.search('Content-Security-Policy" content="([^"]*)"', page)[1]
    assert policy.split("; ") == [
        "default-src 'none'",
        f"style-src 'sha256-{digest}'",
        "img-src data:",
        "base-uri 'none'",
        "form-action 'none'",
    ]


def test_page_has_no_script_no_style_attribute_and_no_address(page):
    assert not re.search(r"<script|<link|\sstyle=|\son\w+=|@import|javascript:", page)
    assert set(re.findall(r"https?://[^\s\"'<]+", page)) == {"http://www.w3.org/2000/svg"}


def test_text_is_escaped_wherever_it_stands():
    bad = '<img src=x onerror=alert(1)>"'
    report = sample_report()
    section = replace(
        report.sections[0],
        title=bad,
        question=bad,
        sentences=(bad, bad),
        remarks=(bad,),
        tables=(replace(report.sections[0].tables[0], title=bad, notes=(bad,)),),
        ledgers=(replace(report.sections[0].ledgers[0], title=bad, groups=((bad, (bad,)),)),),
    )
    hostile = replace(
        report,
        title=bad,
        subtitle=bad,
        cautions=(Caution(bad, bad),),
        headlines=(bad,),
        sections=(section, replace(report.sections[1], figures=(replace(report.figures[0], title=bad, caption=bad),))),
        provenance=((bad, bad),),
    )
    page = to_html(hostile, DRAWINGS)
    assert page.count("&lt;img src=x") >= 18
    assert "<img" not in page


def test_figures_and_tables_are_numbered_through(page):
    assert re.findall(r"<b>(Figure \d|Table \d)\.</b>", page) == ["Table 1", "Figure 1", "Figure 2", "Table 2"]


def test_ledger_tells_counts_before_it_is_opened(page):
    summary = re.search(r"<details class=\"ledger\">\s*<summary>(.*?)</summary>", page, re.DOTALL)[1]
    assert "Took 13, Did not take 1, Cannot be told 2, Left out 0" in summary


def test_a_missing_drawing_is_told():
    with pytest.raises(KeyError, match="healing-curve-again"):
        to_html(sample_report(), {"healing-curve": DRAWINGS["healing-curve"]})


def test_a_bare_report_has_no_empty_parts():
    bare = replace(sample_report(), cautions=(), headlines=(), sections=(), definitions=(), provenance=())
    page = to_html(bare, {})
    assert "<section" not in page
    assert "None" not in page
