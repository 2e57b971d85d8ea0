"""The page as a reader has it: in a browser without a network, by keyboard, on a phone, on paper."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest

sync_api = pytest.importorskip("playwright.sync_api")
Axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe
PdfReader = pytest.importorskip("pypdf").PdfReader

PHONE, DESK = {"width": 390, "height": 844}, {"width": 1400, "height": 900}
ROUTES = """() => {
    const ids = [...document.querySelectorAll('[id]')].map(element => element.id)
    const wanted = []
    for (const element of document.querySelectorAll('*')) for (const {name, value} of element.attributes) {
        if (['href', 'xlink:href'].includes(name)) wanted.push(value.replace('#', ''))
        if (['aria-labelledby', 'aria-describedby'].includes(name)) wanted.push(...value.split(' '))
        const url = value.match(/^url\\(#(.*)\\)$/)
        if (url) wanted.push(url[1])
    }
    const twice = ids.filter((id, i) => ids.indexOf(id) !== i)
    return {twice, lost: wanted.filter(id => !ids.includes(id)), wanted: wanted.length}
}"""


@pytest.fixture
def page(browser, page_file: Path) -> Iterator["sync_api.Page"]:
    """The page at a desk, opened as a file, without a network."""
    # axe is put into the page as a script, which the page's own policy rightly refuses.
    context = browser.new_context(viewport=DESK, bypass_csp=True, offline=True)
    page = context.new_page()
    page.goto(page_file.as_uri())
    yield page
    context.close()


def test_page_is_quiet_and_asks_for_nothing(browser, page_file):
    complaints, requests = [], []
    context = browser.new_context(viewport=DESK)
    page = context.new_page()
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda request: requests.append(request.url))

    page.goto(page_file.as_uri())
    page.wait_for_load_state("networkidle")

    assert complaints == []
    assert requests == [page_file.as_uri()]
    context.close()


def test_content_policy_refuses_what_is_put_in(browser, page_file, tmp_path):
    planted = tmp_path / "planted.html"
    text = page_file.read_text("utf-8")
    planted.write_text(
        text.replace("</main>", "<p id='bad' style='color: red'>x</p><script>ran = 1</script></main>"), "utf-8"
    )
    context = browser.new_context()
    page = context.new_page()
    page.goto(planted.as_uri())

    assert page.evaluate("typeof ran") == "undefined"
    assert page.evaluate("getComputedStyle(document.getElementById('bad')).color") != "rgb(255, 0, 0)"
    context.close()


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_axe_finds_no_fault(page, size):
    page.set_viewport_size(size)
    page.evaluate("document.querySelectorAll('details').forEach(element => element.open = true)")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize(("size", "folded"), [(DESK, False), (PHONE, True)], ids=["desk", "phone"])
def test_cautions_stand_open_on_the_first_screen(page, size, folded):
    page.set_viewport_size(size)
    cautions = page.locator(".cautions li")
    sync_api.expect(cautions.first).to_be_in_viewport()
    assert [caution.is_visible() for caution in cautions.all()] == [True, True] + [not folded] * (cautions.count() - 2)
    if folded:
        page.locator(".cautions summary").click()
        sync_api.expect(cautions.last).to_be_visible()


def test_contents_links_lead_to_their_sections(page):
    links = page.locator("nav a")
    sections = page.locator("main section[id]")
    targets = [link.get_attribute("href") for link in links.all()]
    assert targets == [f"#{section.get_attribute('id')}" for section in sections.all()]
    for link, target in zip(links.all(), targets, strict=True):
        link.click()
        assert page.evaluate("location.hash") == target
        sync_api.expect(page.locator(f"{target} h2")).to_be_in_viewport()


def test_identifiers_are_unique_and_every_reference_is_met(page):
    routes = page.evaluate(ROUTES)
    assert routes["wanted"] > 0
    assert (routes["twice"], routes["lost"]) == ([], [])


def test_keyboard_reaches_and_opens_a_ledger(page):
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "report"
    codes = page.locator("details.ledger").first.locator("code").first
    assert not codes.is_visible()

    for summary in (".ledgers > summary", ".ledger > summary"):
        for _ in range(500):
            page.keyboard.press("Tab")
            if page.evaluate(f"document.activeElement.matches('{summary}')"):
                break
        page.keyboard.press("Enter")

    sync_api.expect(codes).to_be_visible()


def test_phone_scrolls_only_down(page):
    page.set_viewport_size(PHONE)
    page.evaluate("document.querySelectorAll('details').forEach(element => element.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def printed(page) -> list:
    return list(PdfReader(BytesIO(page.pdf(prefer_css_page_size=True))).pages)


def words(sheet) -> str:
    return " ".join(sheet.extract_text().split())


def test_print_has_the_title_and_the_case_lists_that_were_opened(page):
    title = page.locator("h1").inner_text()
    pages = printed(page)
    text = " ".join(map(words, pages))
    assert len(pages) > 1
    assert title in text
    assert [round(float(side) / 72 * 25.4) for side in pages[0].mediabox[2:]] == [210, 297]
    assert "The cases behind these numbers" not in text

    page.evaluate("document.querySelectorAll('details').forEach(element => element.open = true)")
    code = page.locator("details.ledger code").first.text_content()
    assert any(code in words(sheet) for sheet in printed(page))
