"""Every figure of the invented practice at the widths of a journal: text that can be read, files that journals take."""

from datetime import date
from itertools import combinations, pairwise

import numpy as np
import pandas as pd
import pytest
from invented_report import step_figure
from matplotlib.colors import to_hex
from matplotlib.figure import Figure as Drawn
from matplotlib.text import Text
from PIL import Image
from plotnine import aes, geom_text, ggplot, labs
from pypdf import PdfReader
from test_style import TO_XYZ, linear

from audit.analyses.run import run_audit
from audit.intake.check_workbook import check_workbook
from audit.protocol import read_protocol
from audit.store import open_store
from reports.audit_report import audit_report
from reports.document import Figure
from reports.drawing.draw import start_helper
from reports.drawing.journal_figures import RESOLUTIONS, WIDTHS, write_journal_figures
from reports.drawing.layout import laid_out
from reports.figures import complications, ends, flow, scores
from reports.spelling import american
from synthetic_data.edge_cases import edge_case
from synthetic_data.workbook import write_workbook

COLUMN, PAGE = (width / 25.4 for width in WIDTHS)


@pytest.fixture(scope="module")
def figures(demo_evidence) -> dict[str, Figure]:
    return {figure.id: figure for figure in audit_report(demo_evidence.audit).figures}


def words_that_fail(drawn: Drawn) -> list[str]:
    """Text under 6 points, cut off by the canvas, or in another text's way; measured apart from the code."""
    drawn.draw_without_rendering()
    shown = []
    for text in drawn.findobj(Text):
        axis = next((a for axes in drawn.axes for a in (axes.xaxis, axes.yaxis) if text in a.get_ticklabels()), None)
        place = text.get_position()[0 if axis is not None and axis.axis_name == "x" else 1]
        beyond = axis is not None and not min(axis.get_view_interval()) <= place <= max(axis.get_view_interval())
        if text.get_visible() and text.get_text().strip() and not beyond:
            shown.append((text.get_text(), text.get_fontsize(), text.get_window_extent().extents))
    wide, tall = drawn.bbox.size
    point = drawn.dpi / 72
    found = [words for words, size, _ in shown if size < 6]
    found += [w for w, _, (x0, y0, x1, y1) in shown if min(x0, y0) < -1 or x1 > wide + 1 or y1 > tall + 1]
    for (one, _, a), (other, _, b) in combinations(shown, 2):
        if min(a[2], b[2]) - max(a[0], b[0]) > point and min(a[3], b[3]) - max(a[1], b[1]) > point:
            found.append(f"{one} / {other}")
    return found


def test_measure_finds_what_is_planted():
    rows = pd.DataFrame({"x": [0.0] * 20, "y": range(20), "text": "a row"})
    crowded = Figure(
        id="c",
        title="t",
        description="d.",
        caption="n = 1",
        plot=ggplot(rows, aes("x", "y", label="text")) + geom_text(),
        height=1.5,
    )
    with laid_out(crowded, COLUMN, None, str) as (drawn, _):
        assert words_that_fail(drawn) == []
        assert drawn.get_figheight() > 2  # grown until its rows are apart
        drawn.set_size_inches(COLUMN, 1.5)
        assert "a row / a row" in words_that_fail(drawn)
        drawn.text(0.95, 0.5, "beyond the edge", size=7)
        drawn.text(0.5, 0.5, "small", size=5)
        assert {"beyond the edge", "small"} <= set(words_that_fail(drawn))


@pytest.mark.parametrize("inches", [COLUMN, PAGE])
def test_every_word_can_be_read(figures, inches):
    found = {}
    for name, figure in figures.items():
        with laid_out(figure, inches, None, str) as (drawn, wrong):
            found[name] = [*words_that_fail(drawn), *wrong]
    assert {name: words for name, words in found.items() if words} == {}


@pytest.mark.parametrize(("inches", "height"), [(COLUMN, None), (PAGE, None), (4.3, 2.4)])
def test_words_of_the_flow_stay_in_their_boxes(figures, inches, height):
    flowing = figures["flow"]
    chosen = flowing.wide if height else flowing.narrow if inches == COLUMN else flowing
    boxes = next(layer._data for layer in chosen.plot.layers if type(layer.geom).__name__ == "geom_rect")
    with laid_out(flowing, inches, height, str) as (drawn, _):
        (axes,) = drawn.axes
        for text, box in zip(axes.texts, boxes.itertuples(), strict=True):
            left, low, right, high = text.get_window_extent().extents
            corners = axes.transData.transform([(box.xmin, box.ymin), (box.xmax, box.ymax)])
            assert corners[0][0] <= left and right <= corners[1][0], box.text  # noqa: PT018
            assert corners[0][1] <= low and high <= corners[1][1], box.text  # noqa: PT018


@pytest.mark.parametrize("name", ["one animal", "no healed case", "only one method", "exits of every kind"])
def test_little_practices_have_legible_figures_or_none(name, tmp_path):
    write_workbook(edge_case(name), tmp_path / "practice.xlsx")
    intake = check_workbook(tmp_path / "practice.xlsx", key=bytes(32))
    with open_store(":memory:", create=True) as store:
        store.load(intake.tables, fingerprint=intake.fingerprint, on=date(2026, 1, 1))
        drawings = audit_report(run_audit(store.under(read_protocol()))).figures
    assert drawings
    for figure in drawings:
        with laid_out(figure, COLUMN, None, str) as (drawn, _):
            assert words_that_fail(drawn) == [], figure.id


@pytest.mark.parametrize("inches", [COLUMN, PAGE])
def test_numbers_still_watched_stand_under_the_healing_curve(figures, inches):
    with laid_out(figures["healing-curve"], inches, None, str) as (drawn, _):
        for axes in drawn.axes:
            assert len(axes.texts) == len(axes.get_xticks()) >= 5
            assert all(text.get_text().isdigit() and text.get_position()[1] < 0 for text in axes.texts)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("journal")
    return folder, write_journal_figures([step_figure("curve")], folder)


def test_files_are_those_told_and_a_second_process_gives_the_same_bytes(written, tmp_path):
    folder, paths = written
    assert sorted(paths) == sorted(folder.iterdir())
    with start_helper() as helper:
        helper.submit(abs, 1).result()
        write_journal_figures([step_figure("first"), step_figure("curve")], tmp_path, helper=helper)
    drawings = [path for path in paths if path.suffix != ".txt"]
    assert len(drawings) == len(WIDTHS) * (2 + 2 * len(RESOLUTIONS))
    assert [path.name for path in drawings if path.read_bytes() != (tmp_path / path.name).read_bytes()] == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("dots", RESOLUTIONS)
@pytest.mark.parametrize("kind", ["png", "tif"])
def test_rasters_are_rgb_of_the_stated_size(written, width, dots, kind):
    with Image.open(written[0] / f"curve-{width}mm-{dots}dpi.{kind}") as image:
        assert image.mode == "RGB"
        assert image.width == pytest.approx(width / 25.4 * dots, abs=1)
        assert image.info["dpi"] == pytest.approx((dots, dots), abs=0.1)
        assert kind == "png" or image.info["compression"] == "tiff_lzw"


def test_pdf_is_one_column_wide_with_truetype_fonts_only(written):
    page = PdfReader(written[0] / "curve-85mm.pdf").pages[0]
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    assert {font["/DescendantFonts"][0].get_object()["/Subtype"] for font in fonts} == {"/CIDFontType2"}
    assert float(page.mediabox.width) == pytest.approx(COLUMN * 72, abs=0.1)


def test_every_word_is_respelt(tmp_path):
    plot = step_figure("oedema").plot + labs(x="Days of oedema")
    british = Figure(
        id="oedema", title="A grey curve", description="Grey, by colour.", caption="n = 4, randomised.", plot=plot
    )
    write_journal_figures([british], tmp_path, respell=american)
    svg = (tmp_path / "oedema-85mm.svg").read_text("utf-8")
    assert ">Days of edema<" in svg
    assert ">A gray curve<" in svg
    assert (tmp_path / "legends.txt").read_text("utf-8") == "Figure 1. A gray curve. n = 4, randomized.\n"
    assert (tmp_path / "alt-text.txt").read_text("utf-8") == "Figure 1. Gray, by color.\n"


def lightness(colour: str) -> float:
    """CIE 1976 L*, 0 to 100: what a print in grey keeps of a colour."""
    return float(116 * np.cbrt(TO_XYZ[1] @ linear(colour)) - 16)


@pytest.mark.parametrize(
    ("fills", "least"),
    [
        (list(pairwise(flow.FILLS)), 15),
        (list(pairwise(scores.SHADES[4])), 13),
        (list(pairwise(scores.SHADES[5])), 10),
        (list(combinations(complications.GRADES.values(), 2)), 7),  # any two can touch
        (list(combinations(ends.FILLS, 2)), 4.5),  # nine parts; words and dark outlines tell them too
    ],
)
def test_stacked_fills_that_touch_stay_apart_in_grey(fills, least):
    assert min(abs(lightness(one) - lightness(other)) for one, other in fills) >= least


def test_competing_ends_are_outlined_and_named(figures):
    with laid_out(figures["healing-ends"], COLUMN, None, str) as (drawn, _):
        for axes in drawn.axes:
            assert axes.texts
            assert {to_hex(line.get_color()) for line in axes.lines} == {"#1f2933"}


def test_no_group_is_told_by_colour_alone(figures):
    alone = [
        (figure.id, type(layer.geom).__name__)
        for figure in figures.values()
        for layer in figure.plot.layers
        if type(layer.geom).__name__ in ("geom_point", "geom_line", "geom_step")
        and {"color", "fill"} & set(mapping := {**figure.plot.mapping, **layer.mapping})
        and not {"shape", "linetype"} & set(mapping)
    ]
    assert alone == []
