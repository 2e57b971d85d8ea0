"""Marked blocks in a file that its author has worked on: find them, read them, write into them, set them free."""

import re
from collections import Counter
from collections.abc import Collection, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from docx.enum.text import WD_COLOR_INDEX
from docx.oxml.ns import qn
from docx.text.run import Run

from reports.word.parts import MARK, Element, digest, element, in_words, mark_name, paragraph, run, text_of

MARK_NAME = re.compile(r"_block_([0-9a-f]{8})_([0-9a-f]{8,16})\Z")
STANDING = ("footnoteReference", "endnoteReference", "commentReference", "drawing", "pict", "object")
PROPERTIES, CONTENT = qn("w:sdtPr"), qn("w:sdtContent")


@dataclass(frozen=True, slots=True)
class MarkedBlock:
    """A content control, the key and digests in its tag, the images it shows, and the heading above it."""

    control: Element
    key: str
    text: str
    picture: str
    images: tuple[bytes, ...]
    heading: str

    @property
    def content(self) -> Element:
        """What stands in the control."""
        return self.control.find(CONTENT)

    @property
    def present(self) -> str:
        """The text that stands there now; "" where the author emptied it, or struck it out with changes tracked."""
        emptied = self.control.find(f"{PROPERTIES}/{qn('w:showingPlcHdr')}") is not None
        return "" if emptied else text_of(self.content)

    @property
    def edited(self) -> bool:
        """Whether text or picture are other than what was last written; a picture taken out counts as no edit."""
        other_picture = bool(self.picture and self.images) and digest(self.images[0]) != self.picture
        return digest(self.present) != self.text or other_picture

    @property
    def typed(self) -> str:
        """What the author put before or after the text last written; the whole text where they changed that itself."""
        present = self.present
        for cut in range(1, len(present)):
            before, after = present[:cut].strip(), present[cut:].strip()
            if self.text in (digest(before), digest(after)):
                return after if digest(before) == self.text else before
        return present

    @property
    def where(self) -> str:
        """The heading above, and the identifier in words."""
        return f"{self.heading or 'before the first heading'}: {in_words(self.key)}"

    def sign(self, text: str, picture: str) -> None:
        """Put the digests into the tag and into the name of the bookmark."""
        self.control.find(f"{PROPERTIES}/{qn('w:tag')}").set(qn("w:val"), f"{self.key}:{text}{picture}")
        for start in self.content.iter(qn("w:bookmarkStart")):
            if start.get(qn("w:name"), "").startswith(mark_name(self.key, "")):
                start.set(qn("w:name"), mark_name(self.key, text + picture))

    def write(self, text: str, *, yellow: bool = False) -> None:
        """Put the text in place of the runs, in the manner of the first of them; notes and comments stay."""
        fresh = run(text)
        _put(self.content, fresh)
        if yellow or fresh.rPr is not None:
            Run(fresh, None).font.highlight_color = WD_COLOR_INDEX.YELLOW if yellow else None
        for change in [node for node in self.content.iter(qn("w:ins"), qn("w:del")) if not len(node)]:
            change.getparent().remove(change)
        self.sign(digest(text_of(self.content)), "")

    def take_over(self, control: Element) -> bool:
        """
        Take texts and picture from a newly made control, cell by cell, so that the author's layout stays.

        False where it has other rows, columns or paragraphs, or another caption: it can only be put in place whole.
        """
        old, new = ([*content.iter(qn("w:p"))] for content in (self.content, control))
        other = [(ours, theirs) for ours, theirs in zip(old, new, strict=False) if text_of(ours) != text_of(theirs)]
        if _shape(self.content) != _shape(control) or any(
            next(ours.iter(qn("w:fldChar"), qn("w:fldSimple")), None) is not None for ours, _ in other
        ):
            return False
        for ours, theirs in other:
            _put(ours, deepcopy(theirs.find(qn("w:r"))))
        for ours, theirs in zip(self.content.iter(qn("a:blip")), control.iter(qn("a:blip")), strict=True):
            ours.set(qn("r:embed"), theirs.get(qn("r:embed")))
        for name in ("wp:extent", "a:ext"):
            for ours, theirs in zip(self.content.iter(qn(name)), control.iter(qn(name)), strict=False):
                if theirs.get("cx"):
                    height = int(ours.get("cx")) * int(theirs.get("cy")) / int(theirs.get("cx"))
                    ours.set("cy", str(round(height)))
        return True

    def put_behind(self, words: str) -> None:
        """Words on yellow right behind the block."""
        note = run(f" {words}", element("highlight", val="yellow"))
        whole_paragraphs = self.content.find(qn("w:p")) is not None
        self.control.addnext(paragraph("Normal", note) if whole_paragraphs else note)

    def replace(self, control: Element, words: str = "") -> None:
        """Put another control in its place; with `words` what stood here stays behind it, under them, unmarked."""
        self.control.addprevious(control)
        if words:
            for node in list(self.content.iter(qn("w:bookmarkStart"), qn("w:bookmarkEnd"), qn("w:r"))):
                if node.tag != qn("w:r") or next(node.iter(qn("w:fldChar"), qn("w:instrText")), None) is not None:
                    node.getparent().remove(node)
            line = run(words, element("highlight", val="yellow"))
            self.control.addprevious(paragraph("Normal", line, keepNext=""))
            for child in list(self.content):
                self.control.addprevious(child)
        self.control.getparent().remove(self.control)


def find_blocks(document: Any, known: Collection[str]) -> list[MarkedBlock]:
    """All marked blocks in the text, in order; of foreign content controls only those `known` are taken for ours."""
    names = {style.style_id: (style.name or "").lower() for style in document.styles}
    heading, found = "", []
    for node in document.element.body.iter(qn("w:p"), qn("w:sdt")):
        if node.tag == qn("w:sdt"):
            mark = tag_of(node)
            if mark and mark["key"] in known:
                blips = [blip.get(qn("r:embed")) for blip in node.iter(qn("a:blip"))]
                images = tuple(document.part.rels[name].target_part.blob for name in blips if name)
                found.append(MarkedBlock(node, mark["key"], mark["text"], mark["picture"] or "", images, heading))
        elif names.get(node.style or "", "").startswith("heading"):
            heading = text_of(node) or heading
    return found


def mark_again(body: Element, known: Mapping[str, str]) -> None:
    """
    Put content controls back round the bookmarks that a word processor left when it dropped tags or controls.

    `known` gives the key for its digest in the bookmark's name.
    """
    ends = {end.get(qn("w:id")): end for end in body.iter(qn("w:bookmarkEnd"))}
    spans: dict[str, tuple[Element, Element]] = {}
    for start in body.iter(qn("w:bookmarkStart")):
        # LibreOffice cuts a bookmark round a table into pieces: its first piece begins it, its last ends it.
        name, end = start.get(qn("w:name"), ""), ends.get(start.get(qn("w:id")))
        if end is not None and not any(tag_of(control) for control in start.iterancestors(qn("w:sdt"))):
            spans[name] = (spans[name][0] if name in spans else start, end)
    for place, (start, end) in spans.items():
        mark = MARK_NAME.match(place)
        if mark is None or mark[1] not in known:
            continue
        key = known[mark[1]]
        tag = element("tag", val=f"{key}:{mark[2]}")
        around = set(end.iterancestors())
        shared = next(node for node in start.iterancestors() if node in around)
        if shared.tag == CONTENT:
            shared.getparent().find(PROPERTIES).append(tag)
            continue
        if shared.tag in (qn("w:tbl"), qn("w:tr")):
            continue  # the ends were moved apart into cells
        first = next(child for child in shared if child is start or child in set(start.iterancestors()))
        last = next(child for child in shared if child is end or child in around)
        content = element("sdtContent")
        first.addprevious(element("sdt", element("sdtPr", element("alias", val=in_words(key)), tag), content))
        content.extend(shared[shared.index(first) : shared.index(last) + 1])


def tag_of(control: Element) -> re.Match[str] | None:
    """The parts of a content control's tag: key, text, picture; None where the tag is none of ours."""
    tag = control.find(f"{PROPERTIES}/{qn('w:tag')}")
    return None if tag is None else MARK.match(tag.get(qn("w:val"), ""))


def leave_out_picture(control: Element) -> None:
    """Keep the caption alone: the author took the picture out of the file, as many journals ask."""
    holder = next(next(control.iter(qn("w:drawing"))).iterancestors(qn("w:p")))
    holder.getnext().insert(1, holder.find(qn("w:bookmarkStart")))
    holder.getparent().remove(holder)


def differences(old: Element, new: Element) -> tuple[str, str]:
    """The rows, captions and notes that only one of two tables or figures has."""
    before, after = Counter(_lines(old)), Counter(_lines(new))
    gone, come = "; ".join((before - after).elements()), "; ".join((after - before).elements())
    if gone or come:
        return gone, come
    what = "picture" if next(new.iter(qn("a:blip")), None) is not None else "order of rows"
    return f"the earlier {what}", f"a new {what}"


def _put(holder: Element, fresh: Element) -> None:
    """Put a run in place of all runs of text, in the manner of the first of them."""
    standing = [qn(f"w:{name}") for name in STANDING]
    old = [node for node in holder.iter(qn("w:r")) if next(node.iter(*standing), None) is None]
    if not old:
        holder.append(fresh)
        return
    place, manner = old[0], old[0].find(qn("w:rPr"))
    if manner is not None:
        fresh.insert(0, deepcopy(manner))
    while place.getparent().tag not in (qn("w:p"), CONTENT):
        place = place.getparent()
    place.addprevious(fresh)
    for node in old:
        node.getparent().remove(node)


def _shape(content: Element) -> list[tuple[str, str | None]]:
    nodes = content.iter(qn("w:p"), qn("w:tr"), qn("w:tc"), qn("w:gridSpan"), qn("a:blip"))
    return [(node.tag, node.get(qn("w:val"))) for node in nodes]


def _lines(content: Element) -> list[str]:
    lines = []
    for node in content.iter(qn("w:tr"), qn("w:p")):
        if node.tag == qn("w:tr"):
            lines.append(" | ".join(text_of(cell) for cell in node.iter(qn("w:tc"))))
        elif next(node.iterancestors(qn("w:tc")), None) is None:
            lines.append(text_of(node).removeprefix("Table . ").removeprefix("Figure . "))
    return [line for line in lines if line]
