"""Slides of the talk: 16:9, large type, the title above and n below, nothing cut off or run together."""

from xml.etree import ElementTree

import pandas as pd
import pytest
from invented_report import step_figure
from PIL import Image
from plotnine import aes, geom_point, ggplot, scale_y_continuous

from reports.document import Figure
from reports.drawing.draw import SVG, start_helper
from reports.drawing.talk_figures import LEAST, PIXELS, SLIDE, foot, write_talk_figures
from reports.spelling import american


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("talk")
    grey = step_figure("curve")
    figure = Figure(
        id="curve", title="A grey curve", description=grey.description, caption="n = 4 cases. Counts.", plot=grey.plot
    )
    return folder, write_talk_figures([figure], folder, respell=american)


def test_slide_is_full_size_opaque_and_white_at_its_corners(written):
    folder, paths = written
    assert sorted(paths) == sorted(folder.iterdir())
    with Image.open(folder / "curve.png") as image:
        assert (image.size, image.mode) == (PIXELS, "RGB")
        assert {image.getpixel(place) for place in ((0, 0), (1919, 0), (0, 1079), (1919, 1079))} == {(255, 255, 255)}


def test_title_and_n_are_on_the_slide_and_no_type_is_small(written):
    root = ElementTree.fromstring((written[0] / "curve.svg").read_text("utf-8"))
    texts = {part.text: part for part in root.iter(f"{{{SVG}}}text")}
    assert {"A gray curve", "n = 4 cases. Counts.", "Days since surgery"} <= set(texts)
    zoom = SLIDE * 72 / float(root.get("viewBox").split()[2])
    sizes = [float(part.get("font-size").removesuffix("px")) * zoom for part in texts.values()]
    assert min(sizes) >= LEAST
    # 18 dots of 1080, as on a screen of that height.
    assert min(sizes) / 72 * PIXELS[0] / SLIDE >= 18


def test_second_process_gives_the_same_bytes(tmp_path):
    names = ("a", "b")
    with start_helper() as helper:
        helper.submit(abs, 1).result()
        write_talk_figures([step_figure(name) for name in names], tmp_path / "two", helper=helper)
    write_talk_figures([step_figure(name) for name in names], tmp_path / "one")
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes()


def test_figure_that_would_need_small_type_has_no_slide(tmp_path):
    rows = pd.DataFrame({"x": 0.0, "y": range(60)})
    plot = ggplot(rows, aes("x", "y")) + geom_point() + scale_y_continuous(breaks=range(60), labels=["a row"] * 60)
    assert (
        write_talk_figures([Figure(id="full", title="t", description="d.", caption="n = 60", plot=plot)], tmp_path)
        == ()
    )


def test_foot_keeps_whole_clauses():
    assert foot("n = 3 cases; one unknown. Counts.") == "n = 3 cases; one unknown. Counts."
    assert foot("n = 3 cases; " + "long " * 60) == "n = 3 cases"
