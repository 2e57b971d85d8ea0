"""The figures as slides of a talk, 16:9: large type, the title in words above, n and what was done below."""

import io
import re
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from textwrap import wrap

import cloudpickle
from matplotlib.figure import Figure as Drawn

from reports.document import Figure
from reports.drawing.draw import inline_svg, shared
from reports.drawing.journal_figures import raster, save_png
from reports.drawing.layout import laid_out
from reports.drawing.legible import SMALL
from reports.drawing.style import INK, UNKNOWN
from reports.spelling import british

PIXELS = (1920, 1080)
SLIDE = 13.333  # inches
LARGE, LEAST = 20.0, 11.0  # points on the slide: text where there is room, and where a figure holds much
TITLE_POINTS, FOOT_POINTS = 28, 16
ROOM, REPORT_POINTS = 0.53, 8  # of the height in the report, for its type of so many points: dots stay apart
MARGINS = (0.03, 0.03, 0.075, 0.075)  # left, right, top and bottom, all of the width


def write_talk_figures(
    figures: Sequence[Figure],
    folder: Path,
    *,
    respell: Callable[[str], str] = british,
    helper: ProcessPoolExecutor | None = None,
) -> tuple[Path, ...]:
    """
    Write `<id>.png`, 1920 by 1080 dots, and `<id>.svg` of each figure that a slide holds legibly; return them.

    Text is LARGE points on a slide 13.3 inches wide, less in a full figure, and never under LEAST: a figure that would
    need smaller type has no slide. Panels stand side by side. See journal_figures for `respell` and the helper.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = shared(figures, helper, _write_packed, folder, cloudpickle.dumps(respell))
    return tuple(path for paths in written.values() for path in paths)


def _write_packed(packed: bytes, folder: Path, respell: bytes) -> list[Path]:
    return _write(cloudpickle.loads(packed), folder, cloudpickle.loads(respell))


def _write(figure: Figure, folder: Path, respell: Callable[[str], str]) -> list[Path]:
    points = LARGE
    least_height = ROOM * figure.height * SMALL / REPORT_POINTS
    while points >= LEAST:
        # Drawn small and enlarged: lines, points and gaps grow with the type.
        zoom = points / SMALL
        width = SLIDE / zoom
        height = width * PIXELS[1] / PIXELS[0]
        with laid_out(figure, width, height, respell, MARGINS) as (drawn, wrong):
            if not wrong and height >= least_height:
                return _saved(drawn, zoom, figure, folder, respell)
        points *= 0.86
    return []


def _saved(drawn: Drawn, zoom: float, figure: Figure, folder: Path, respell: Callable[[str], str]) -> list[Path]:
    left, top = 0.04, 0.94
    told = figure.spelled(respell)
    title = "\n".join(wrap(told.title, 60))
    drawn.text(left, top, title, size=TITLE_POINTS / zoom, weight="bold", color=INK, va="center")
    drawn.text(left, 0.06, foot(told.caption), size=FOOT_POINTS / zoom, color=UNKNOWN, va="center")
    paths = [folder / f"{figure.id}.svg", folder / f"{figure.id}.png"]
    buffer = io.BytesIO()
    drawn.savefig(buffer, format="svg", metadata={"Date": None})
    paths[0].write_text(inline_svg(buffer.getvalue().decode(), told), "utf-8", newline="\n")
    dots = PIXELS[0] / drawn.get_figwidth()
    save_png(raster(drawn, dots).resize(PIXELS), paths[1], 144, told)
    return paths


def foot(caption: str, letters: int = 105) -> str:
    """The first clauses of the caption that fit two lines: n, and what was done."""
    lines: list[str] = []
    sentences = re.split(r"(?<=[.;]) ", caption)
    for number in range(1, len(sentences) + 1):
        more = wrap(" ".join(sentences[:number]), letters)
        if len(more) > 2:
            break
        lines = more
    return "\n".join(lines).rstrip(";")
