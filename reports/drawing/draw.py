"""From a figure to SVG, PNG and PDF: the same figure gives the same bytes."""

import io
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from multiprocessing import get_context
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar
from xml.etree import ElementTree

import cloudpickle
import matplotlib
import matplotlib.pyplot as plt
import typst
from plotnine import ggplot, theme

from reports.document import Figure

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")
DOTS_PER_INCH = 300
SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
ElementTree.register_namespace("", SVG)
ElementTree.register_namespace("xlink", XLINK)
STABLE = {"svg.fonttype": "none", "svg.hashsalt": "takehold"}  # text stays text
PAGE = b"""
#set document(title: sys.inputs.title, date: none)
#set page(width: auto, height: auto, margin: 0pt)
#image(bytes(sys.inputs.svg), format: "svg", width: float(sys.inputs.width) * 1in, alt: sys.inputs.alt)
"""


def start_helper() -> ProcessPoolExecutor:
    """
    A second process that loads what drawing needs at once; start it before the numbers are worked out.

    Use it as a context manager. It is started afresh, not forked: a fork copies the locks of running threads.
    """
    with _safe_path():
        helper = ProcessPoolExecutor(1, mp_context=get_context("spawn"))  # starts the tracker of its locks
        helper.submit(warm_up)  # starts the helper itself
    return helper


@contextmanager
def _safe_path() -> Iterator[None]:
    """A Python started in here takes no module from the current folder, where any file may lie."""
    before = os.environ.get("PYTHONSAFEPATH")
    os.environ["PYTHONSAFEPATH"] = "1"
    try:
        yield
    finally:
        if before is None:
            del os.environ["PYTHONSAFEPATH"]
        else:
            os.environ["PYTHONSAFEPATH"] = before


def draw(
    figures: Sequence[Figure], folder: Path | None = None, helper: ProcessPoolExecutor | None = None
) -> dict[str, str]:
    """
    Draw the figures and return the SVG of each by its identifier, ready to stand in a page.

    With a folder, write `<id>.svg`, `<id>.png` (300 dots an inch) and `<id>.pdf` into it as well. With a helper this
    process draws from the front and the helper from the back.
    """
    return shared(figures, helper, draw_packed, folder)


def shared(
    figures: Sequence[Figure],
    helper: ProcessPoolExecutor | None,
    work: Callable[Concatenate[bytes, Arguments], Result],
    *arguments: Arguments.args,
    **named: Arguments.kwargs,
) -> dict[str, Result]:
    """What `work` makes of each packed figure, by its identifier: here from the front, in the helper from the back."""
    elsewhere: dict[str, Future[Result]] = {}
    packed = {figure.id: pack(figure) for figure in figures}
    if helper is not None:
        with suppress(BrokenProcessPool):
            elsewhere = {name: helper.submit(work, packed[name], *arguments, **named) for name in reversed(packed)}

    def done(name: str) -> Result:
        future = elsewhere.get(name)
        if future is not None and not future.cancel():
            with suppress(BrokenProcessPool):
                return future.result()
        return work(packed[name], *arguments, **named)

    return {name: done(name) for name in packed}


def draw_one(figure: Figure, folder: Path | None = None) -> str:
    """Draw one figure in this process; see draw."""
    matplotlib.use("agg")
    plot = figure.plot + theme(figure_size=(figure.width, figure.height), dpi=DOTS_PER_INCH)
    with matplotlib.rc_context({**plot.theme.rcParams, **STABLE}):
        drawn = plot.draw()
        try:
            buffer = io.BytesIO()
            drawn.savefig(buffer, format="svg", metadata={"Date": None})
            svg = inline_svg(buffer.getvalue().decode(), figure)
            # The layout is settled now; to work it out again for each format takes as long as the drawing.
            drawn.set_layout_engine("none")
            if folder is not None:
                (folder / f"{figure.id}.svg").write_text(svg, "utf-8", newline="\n")
                drawn.savefig(folder / f"{figure.id}.png", dpi=DOTS_PER_INCH, metadata={"Title": figure.title})
                (folder / f"{figure.id}.pdf").write_bytes(to_pdf(svg, figure))
        finally:
            plt.close(drawn)
    return svg


def to_pdf(svg: str, figure: Figure) -> bytes:
    """
    The drawing as a tagged PDF of the figure's size, its fonts embedded and its description as alternative text.

    Typst and not matplotlib, which takes a third of a second a figure to cut its fonts to size.
    """
    written: bytes = typst.compile(  # type: ignore[misc]
        PAGE,
        font_paths=[str(Path(matplotlib.get_data_path()) / "fonts" / "ttf")],
        ignore_system_fonts=True,
        sys_inputs={"svg": svg, "title": figure.title, "alt": figure.description, "width": f"{figure.width}"},
    )
    return written


def inline_svg(text: str, figure: Figure) -> str:
    """
    Matplotlib's SVG made fit to stand in a page beside others.

    Identifiers are prefixed with the figure's; styles become attributes, since the page's content policy refuses style
    attributes; the title and the description are what a screen reader tells.
    """
    root = ElementTree.fromstring(text)
    for element in list(root):
        if element.tag == f"{{{SVG}}}metadata" or element.find(f"{{{SVG}}}style") is not None:
            root.remove(element)
    # The style element held one rule, for all: round joins and butt caps, the latter being the default.
    root.set("stroke-linejoin", "round")
    for element in root.iter():
        _style_to_attributes(element)
        _prefix(element, figure.id)
    for place, (name, words) in enumerate((("title", figure.title), ("desc", figure.description))):
        element = ElementTree.Element(f"{{{SVG}}}{name}", {"id": f"{figure.id}-{name}"})
        element.text, element.tail = words, "\n"
        root.insert(place, element)
    root.attrib.update({"role": "img", "aria-labelledby": f"{figure.id}-title {figure.id}-desc"})
    return ElementTree.tostring(root, encoding="unicode")


def warm_up() -> None:
    """Draw an empty plot: the first one loads fonts and costs twice as much."""
    draw_one(Figure(id="empty", title="", description="", caption="", plot=ggplot()))


def pack(figure: Figure) -> bytes:
    """The figure as bytes. Plotnine's scales hold local functions, which only cloudpickle takes along."""
    packed: bytes = cloudpickle.dumps(figure)
    return packed


def draw_packed(packed: bytes, folder: Path | None) -> str:
    """Draw a packed figure, in whichever process."""
    figure: Figure = cloudpickle.loads(packed)
    return draw_one(figure, folder)


def _style_to_attributes(element: ElementTree.Element) -> None:
    for rule in filter(None, map(str.strip, element.attrib.pop("style", "").split(";"))):
        name, value = (part.strip() for part in rule.split(":", 1))
        # Verdana is as wide, for readers without DejaVu.
        element.set(name, f"{value}, Verdana, sans-serif" if name == "font-family" else value)


def _prefix(element: ElementTree.Element, prefix: str) -> None:
    for name, value in element.attrib.items():
        if name == "id":
            element.set(name, f"{prefix}-{value}")
        elif name == f"{{{XLINK}}}href":
            element.set(name, value.replace("#", f"#{prefix}-", 1) if value.startswith("#") else value)
        elif "url(#" in value:
            element.set(name, value.replace("url(#", f"url(#{prefix}-"))
