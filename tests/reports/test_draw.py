"""Figures: the same bytes each time, wherever drawn; text that stays text; nothing that clashes in a page."""

import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from invented_report import step_figure
from PIL import Image
from plotnine import scale_x_continuous
from pypdf import PdfReader

from reports.document import Figure
from reports.drawing.draw import SVG, draw, draw_one, draw_packed, pack, start_helper

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    folder = tmp_path_factory.mktemp("figures")
    figure = step_figure("curve")
    return folder, figure, draw([figure], folder)["curve"]


def test_second_drawing_and_second_process_give_the_same_bytes(saved, tmp_path):
    folder, figure, svg = saved
    with start_helper() as helper:
        # Wait until it is ready, so that it does take its share.
        helper.submit(abs, 1).result()
        again = draw([step_figure("first"), figure], tmp_path, helper)
    assert again["curve"] == svg
    for kind in ("svg", "png", "pdf"):
        assert (folder / f"curve.{kind}").read_bytes() == (tmp_path / f"curve.{kind}").read_bytes()


def test_a_figure_with_functions_of_its_own_travels_to_the_other_process():
    plain = step_figure("plain")
    local = Figure(
        id="local",
        title="",
        description="",
        caption="",
        plot=plain.plot + scale_x_continuous(labels=lambda days: [f"d{day:g}" for day in days]),
    )
    with start_helper() as helper:
        assert helper.submit(draw_packed, pack(local), None).result() == draw_one(local)
        assert "d20</text>" in draw([plain, local], None, helper)["local"]


def test_svg_tells_what_it_shows_and_needs_no_style(saved):
    _, figure, svg = saved
    root = ElementTree.fromstring(svg)
    told = [root.find(f".//*[@id='{name}']").text for name in root.get("aria-labelledby").split()]
    assert (root.get("role"), told) == ("img", [figure.title, figure.description])
    assert "Days since surgery" in {part.text for part in root.iter(f"{{{SVG}}}text")}
    assert not [part for part in root.iter() if part.tag == f"{{{SVG}}}style" or "style" in part.attrib]
    assert all(part.get("id", "curve-").startswith("curve-") for part in root.iter())


def test_svg_looks_as_matplotlib_drew_it(saved):
    _, _, svg = saved
    # The dashed vermillion line of the second group: colour, width and dashes survive as attributes.
    dashed = [part for part in ElementTree.fromstring(svg).iter(f"{{{SVG}}}path") if part.get("stroke-dasharray")]
    assert {part.get("stroke") for part in dashed} == {"#d55e00"}
    assert 'font-size="8px"' in svg


def test_pdf_embeds_its_fonts_as_journals_ask(saved):
    folder, figure, _ = saved
    page = PdfReader(folder / "curve.pdf").pages[0]
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    assert {font["/Subtype"] for font in fonts} == {"/Type0"}
    assert [float(side) for side in page.mediabox[2:]] == [figure.width * 72, figure.height * 72]


def test_png_has_the_promised_dots(saved):
    folder, figure, _ = saved
    with Image.open(folder / "curve.png") as image:
        assert image.size == (figure.width * 300, figure.height * 300)
        assert image.info["dpi"] == pytest.approx((300, 300), abs=0.1)


def test_a_fault_in_a_figure_is_told():
    broken = step_figure("broken")
    broken.plot.mapping["y"] = "no_such_column"
    with pytest.raises(Exception, match="no_such_column"):
        draw_one(broken)


def test_the_helper_runs_no_file_that_lies_in_the_current_folder(tmp_path):
    here, program = tmp_path / "here", tmp_path / "program" / "start.py"
    for folder in (here, program.parent):
        folder.mkdir()
    # The helper, and the tracker of its locks, load this module first.
    (here / "multiprocessing.py").write_text("from pathlib import Path\nPath('it-ran').touch()\nraise SystemExit\n")
    program.write_text(
        "from reports.drawing.draw import start_helper\n"
        "if __name__ == '__main__':\n"
        "    with start_helper() as helper:\n"
        "        print(helper.submit(abs, -7).result())\n"
    )
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONSAFEPATH"}
    ran = subprocess.run(
        [sys.executable, str(program)],
        cwd=here,
        env=environment | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert not (here / "it-ran").exists()
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "7\n", "")


def test_starting_the_helper_leaves_the_environment_as_it_was(monkeypatch):
    monkeypatch.setenv("PYTHONSAFEPATH", "")
    with start_helper():
        assert os.environ["PYTHONSAFEPATH"] == ""
    monkeypatch.delenv("PYTHONSAFEPATH")
    with start_helper():
        assert "PYTHONSAFEPATH" not in os.environ
