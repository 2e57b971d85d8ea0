"""Colours that stay apart for every eye, measured."""

from itertools import combinations
from pathlib import Path

import matplotlib
import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
import pytest
from matplotlib import font_manager
from matplotlib.colors import to_hex
from plotnine import aes, geom_line, geom_point, ggplot

from reports.drawing.style import COLOURS, FONT, INK, LINE_TYPES, SHAPES, UNKNOWN, group_scales, house_theme

# Machado GM, Oliveira MM, Fernandes LAF. IEEE Trans Vis Comput Graph 2009;15:1291-1298, severity 1, for linear RGB.
EYES = {
    "all cones": np.eye(3),
    "no long": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "no middle": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "no short": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
# IEC 61966-2-1 (sRGB), D65.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colour: str) -> np.ndarray:
    shares = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(shares <= 0.04045, shares / 12.92, ((shares + 0.055) / 1.055) ** 2.4)


def contrast_on_white(colour: str) -> float:
    """W3C, Web Content Accessibility Guidelines 2.2: (L1 + 0.05) / (L2 + 0.05)."""
    return 1.05 / (TO_XYZ[1] @ linear(colour) + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 L*a*b*."""
    x, y, z = np.cbrt(TO_XYZ @ rgb / TO_XYZ.sum(axis=1))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def test_measures_agree_with_known_values():
    assert contrast_on_white("#000000") == pytest.approx(21)
    # The grey that is known as the lightest to pass 4.5:1 on white.
    assert contrast_on_white("#767676") == pytest.approx(4.54, abs=0.01)
    # sRGB red, L*a*b* under D65: 53.24, 80.09, 67.20 (from memory).
    assert lab(linear("#FF0000")) == pytest.approx([53.24, 80.09, 67.20], abs=0.05)
    assert np.sum(list(EYES.values()), axis=2) == pytest.approx(1, abs=1e-5)


@pytest.mark.parametrize("colour", [*COLOURS, UNKNOWN])
def test_lines_stand_out_on_white(colour):
    assert contrast_on_white(colour) >= 3


@pytest.mark.parametrize("colour", [INK, UNKNOWN])
def test_text_stands_out_on_white(colour):
    assert contrast_on_white(colour) >= 4.5


@pytest.mark.parametrize("eye", EYES)
def test_colours_stay_apart(eye):
    seen = {colour: lab(np.clip(np.array(EYES[eye]) @ linear(colour), 0, 1)) for colour in (*COLOURS, UNKNOWN)}
    nearest = min(np.linalg.norm(seen[a] - seen[b]) for a, b in combinations(seen, 2))
    assert nearest >= 20


def test_every_group_has_a_line_and_a_shape_of_its_own():
    assert len(set(LINE_TYPES)) == len(set(SHAPES)) == len(set(COLOURS)) == 4


def test_groups_keep_their_colour_and_line_when_one_has_no_rows():
    rows = pd.DataFrame({"day": [0, 1], "share": [0, 1], "group": ["cats", "cats"]})
    mapping = aes("day", "share", color="group", linetype="group", shape="group")
    plot = ggplot(rows, mapping) + geom_line() + geom_point() + house_theme()
    drawn = (plot + group_scales(["dogs", "cats"], ("color", "linetype", "shape"))).draw()
    (line,) = drawn.axes[0].get_lines()
    plt.close(drawn)
    assert to_hex(line.get_color()).upper() == COLOURS[1]
    assert line.get_linestyle() == "--"


def test_colour_alone_and_a_fifth_group_are_refused():
    with pytest.raises(ValueError, match="colour alone"):
        group_scales(["dogs", "cats"], ("color",))
    with pytest.raises(ValueError, match="use panels"):
        group_scales(list("abcde"))


def test_font_ships_with_matplotlib():
    found = Path(font_manager.findfont(FONT, directory=matplotlib.get_data_path(), fallback_to_default=False))
    assert found.name == "DejaVuSans.ttf"
