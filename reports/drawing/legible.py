"""Whether the words of a drawn figure can be read: what is cut off, what runs together, and what wrapping mends."""

import re
from collections.abc import Callable
from itertools import combinations, pairwise
from textwrap import wrap

from matplotlib.axes import Axes
from matplotlib.collections import PathCollection
from matplotlib.figure import Figure as Drawn
from matplotlib.text import Text
from matplotlib.ticker import FixedFormatter
from matplotlib.transforms import Bbox

SMALL = 6.5  # points
LETTER = 0.62  # mean width of a letter, of its size; DejaVu Sans runs wide
BOUND = re.compile(r"(?<=\d) (?=%)|(?<=\bn) (?==)|(?<=\bn =) (?=\d)|(?<=\band) (?=\d)")
NAMES = 0.34  # of the width, at most, for the names of rows
LEAST_LETTERS = 12  # in a line of the words beside a row: rather a longer axis than a tower of words
MOST_STRETCH = 1.3  # of an axis, for the words beside its rows to stay in one line on a slide
APART = 1.5  # points between the numbers of an axis
TOUCH = 0.4  # points by which two texts may come into each other's boxes


def faults(drawn: Drawn) -> list[str]:
    """What a reader could not read: text outside the canvas, and texts that run into each other."""
    renderer = drawn.canvas.get_renderer()  # type: ignore[attr-defined]
    canvas = drawn.bbox.padded(1)
    boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in visible(drawn)]
    found = [f"outside: {words!r}" for words, box in boxes if not _within(box, canvas)]
    for axes in drawn.axes:
        panel = axes.get_window_extent().padded(2)
        found += [f"clipped: {t.get_text()!r}" for t in axes.texts if not _within(t.get_window_extent(), panel)]
        for one, other in pairwise(label.get_window_extent() for label in axes.get_xticklabels() if label.get_text()):
            if 0 <= other.x0 - one.x1 < APART * drawn.dpi / 72:
                found.append("crowded: the numbers of the horizontal axis")
    slack = TOUCH * drawn.dpi / 72
    inner = [(words, box.padded(-slack)) for words, box in boxes]
    return found + [f"overlap: {a!r} and {b!r}" for (a, one), (b, two) in combinations(inner, 2) if one.overlaps(two)]


def visible(drawn: Drawn) -> list[Text]:
    """Every text that is drawn, those of ticks beyond the axes left out."""
    hidden: set[int] = set()
    for axes in drawn.axes:
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            slack = (high - low) * 1e-6
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if not low - slack <= tick.get_loc() <= high + slack:
                    hidden |= {id(tick.label1), id(tick.label2)}
    return [
        text
        for text in drawn.findobj(Text)
        if text.get_visible() and text.get_text().strip() and id(text) not in hidden
    ]


def _within(box: Bbox, canvas: Bbox) -> bool:
    return bool(box.x0 >= canvas.x0 and box.x1 <= canvas.x1 and box.y0 >= canvas.y0 and box.y1 <= canvas.y1)


def settled(drawn: Drawn, *, wrap_first: bool) -> list[str]:
    """Lay out, bring back the words that run beyond their panel, and tell what is still wrong."""
    drawn.draw_without_rendering()
    if wrap_first or _stretch(drawn) > MOST_STRETCH:
        for axes, text in _beyond(drawn):
            box = text.get_window_extent()
            longest = max(map(len, text.get_text().split("\n")))
            least = min(max(map(len, re.split("\n|; ", text.get_text()))), LEAST_LETTERS)
            text.set_text(_wrapped(text.get_text(), max(int(longest * (_right(axes) - box.x0) / box.width), least)))
            text.set_linespacing(1.0)
    stretch = _stretch(drawn)
    if stretch > 1:
        for axes in drawn.axes:
            low, high = axes.get_xlim()
            axes.set_xlim(low, low + (high - low) * stretch)
        drawn.draw_without_rendering()
    return faults(drawn)


def _beyond(drawn: Drawn) -> list[tuple[Axes, Text]]:
    """The texts that begin at a place of their panel and end beyond its right edge."""
    return [
        (axes, text)
        for axes in drawn.axes
        for text in axes.texts
        if text.get_horizontalalignment() == "left" and text.get_window_extent().x1 > _right(axes)
    ]


def _right(axes: Axes) -> float:
    return float(axes.get_window_extent().x1)


def _stretch(drawn: Drawn) -> float:
    """How much longer the axes must be for every text to end within its panel."""
    needed = [1.0]
    for axes, text in _beyond(drawn):
        panel, box = axes.get_window_extent(), text.get_window_extent()
        needed.append((box.x0 - panel.x0) / max(panel.width - box.width - 4, panel.width / 4))
    return float(max(needed))


def fit_words(drawn: Drawn, width: float, respell: Callable[[str], str]) -> None:
    """Respell every text; wrap the names of rows to their share of the width; let no point be cut in half."""
    room = int(width * NAMES * 72 / (SMALL * LETTER))
    for axes in drawn.axes:
        for axis, most in ((axes.xaxis, 0), (axes.yaxis, room)):
            form = axis.get_major_formatter()
            if isinstance(form, FixedFormatter):
                form.seq = [_wrapped(respell(words), most) if most else respell(words) for words in form.seq]
        for label in axes.yaxis.get_majorticklabels():
            label.set_multialignment("right")
        for points in axes.collections:
            if isinstance(points, PathCollection):  # whole at the edge of a panel, as at 0 and 100 %
                points.set_clip_on(False)
    for text in drawn.findobj(Text):
        text.set_text(respell(text.get_text()))


def _wrapped(words: str, width: int) -> str:
    """In lines of `width` letters, broken behind a semicolon first, never within n = 3 or 5 %."""
    kept = BOUND.sub("\u00a0", words)
    parts = [part for line in kept.split("\n") for part in (re.split("(?<=;) ", line) if len(line) > width else [line])]
    return "\n".join(line for part in parts for line in wrap(part, width, break_long_words=False) or [""])
