"""The figures as journals take them: one and two columns wide, as SVG, PDF, PNG and TIFF, with their legends."""

import io
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import cloudpickle
from matplotlib.figure import Figure as Drawn
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from reports.document import Figure
from reports.drawing.draw import inline_svg, shared, to_pdf
from reports.drawing.layout import laid_out
from reports.spelling import british

MILLIMETRES = 25.4  # in an inch
WIDTHS = (85, 175)  # millimetres: one column, and the whole page
RESOLUTIONS = (300, 600)  # dots an inch


def write_journal_figures(
    figures: Sequence[Figure],
    folder: Path,
    *,
    respell: Callable[[str], str] = british,
    helper: ProcessPoolExecutor | None = None,
) -> tuple[Path, ...]:
    """
    Write each figure in each of WIDTHS, and `legends.txt` and `alt-text.txt`; return what was written.

    `<id>-85mm.svg` and `.pdf` hold text as text; `<id>-85mm-300dpi.png` and `.tif` are RGB without transparency and
    state their dots an inch. `respell` is applied to every word drawn or written. The same figures give the same
    bytes. With a helper (see draw.start_helper) two processes share the work.
    """
    folder.mkdir(parents=True, exist_ok=True)
    respelt = [figure.spelled(respell) for figure in figures]
    written = shared(respelt, helper, _write_packed, folder, cloudpickle.dumps(respell))
    texts = {
        "legends.txt": [f"Figure {i}. {figure.title}. {figure.caption}" for i, figure in enumerate(respelt, start=1)],
        "alt-text.txt": [f"Figure {i}. {figure.description}" for i, figure in enumerate(respelt, start=1)],
    }
    for name, lines in texts.items():
        (folder / name).write_text("\n\n".join(lines) + "\n", "utf-8", newline="\n")
    return (*(path for paths in written.values() for path in paths), *(folder / name for name in texts))


def raster(drawn: Drawn, dots: float) -> Image.Image:
    """The drawing as RGB on white at so many dots an inch."""
    buffer = io.BytesIO()
    drawn.savefig(buffer, format="rgba", dpi=dots)
    size = (int(drawn.get_figwidth() * dots), int(drawn.get_figheight() * dots))
    return Image.frombytes("RGBA", size, buffer.getvalue()).convert("RGB")


def save_png(image: Image.Image, path: Path, dots: float, figure: Figure) -> Path:
    """Write a PNG that tells its dots an inch, its title and its description."""
    told = PngInfo()
    told.add_text("Title", figure.title)
    told.add_itxt("Description", figure.description)
    image.save(path, dpi=(dots, dots), pnginfo=told)
    return path


def _write_packed(packed: bytes, folder: Path, respell: bytes) -> list[Path]:
    """Draw a packed figure in each width and save it in each format, in whichever process."""
    figure: Figure = cloudpickle.loads(packed)
    return [path for width in WIDTHS for path in _write(figure, width, folder, cloudpickle.loads(respell))]


def _write(figure: Figure, millimetres: int, folder: Path, respell: Callable[[str], str]) -> list[Path]:
    width, stem = millimetres / MILLIMETRES, f"{figure.id}-{millimetres}mm"
    paths = [folder / f"{stem}.svg", folder / f"{stem}.pdf"]
    with laid_out(figure, width, None, respell) as (drawn, _):
        buffer = io.BytesIO()
        drawn.savefig(buffer, format="svg", metadata={"Date": None})
        svg = inline_svg(buffer.getvalue().decode(), figure)
        paths[0].write_text(svg, "utf-8", newline="\n")
        paths[1].write_bytes(to_pdf(svg, replace(figure, width=width)))
        for dots in RESOLUTIONS:
            image = raster(drawn, dots)
            paths.append(save_png(image, folder / f"{stem}-{dots}dpi.png", dots, figure))
            paths.append(folder / f"{stem}-{dots}dpi.tif")
            image.save(paths[-1], compression="tiff_lzw", dpi=(dots, dots))
    return paths
