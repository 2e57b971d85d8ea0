"""Pieces of a Word file: marked blocks (content controls), numbering fields, bookmarks, pictures, sections."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from copy import deepcopy
from hashlib import sha256
from typing import Any

from docx.oxml import OxmlElement, parse_xml
from docx.oxml.ns import nsdecls, qn

Element = Any  # an lxml element; python-docx gives no types
ILLEGAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
LONGEST = 64  # Word refuses a file with a longer tag or name of a content control
MARK = re.compile(r"(?P<key>.+):(?P<text>[0-9a-f]{8})(?P<picture>[0-9a-f]{8})?\Z")
NOT_READ = (qn("w:moveFrom"), qn("w:fldSimple"))
NUMBERED = re.compile(r"\s*(SEQ|REF)\s+(\S+)((?:\s+\\(?:h|\*\s*\w+))*)\s*\Z")


def element(name: str, /, *children: Element, **values: str | int) -> Element:
    """A WordprocessingML element with attributes of the same namespace."""
    node = OxmlElement(
        f"w:{name}", attrs={qn(f"w:{key}"): ILLEGAL.sub("", str(value)) for key, value in values.items()}
    )
    node.extend(children)
    return node


def run(text: str, *properties: Element) -> Element:
    """Text as one run; line ends become breaks, and characters that XML cannot hold are left out."""
    node = element("r", *([element("rPr", *properties)] if properties else []))
    for number, line in enumerate(ILLEGAL.sub("", text).splitlines() or [""]):
        if number:
            node.append(element("br"))
        piece = element("t")
        piece.text = line or None
        piece.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
        node.append(piece)
    return node


def loud(text: str) -> Element:
    """Bold text on yellow: a place that waits for the author."""
    return run(text, element("b"), element("highlight", val="yellow"))


def paragraph(style: str, *content: Element, **properties: str) -> Element:
    """A paragraph in the style (by its identifier), with further properties such as jc="right" or keepNext=""."""
    values = [element(name, **({"val": value} if value else {})) for name, value in properties.items()]
    return element("p", element("pPr", element("pStyle", val=style), *values), *content)


def field(code: str, cached: str) -> list[Element]:
    """A field with the text that it shows until Word works it out anew."""
    instruction = element("instrText")
    instruction.text = f" {code} "
    return [
        element("r", element("fldChar", fldCharType="begin")),
        element("r", instruction),
        element("r", element("fldChar", fldCharType="separate")),
        run(cached),
        element("r", element("fldChar", fldCharType="end")),
    ]


def bookmarked(name: str, number: int, *content: Element) -> list[Element]:
    """The content between the two ends of a bookmark."""
    return [element("bookmarkStart", id=number, name=name), *content, element("bookmarkEnd", id=number)]


def block_key(identifier: str) -> str:
    """The identifier as a tag can hold it: a long one is cut and gets a digest."""
    return identifier if len(identifier) <= 40 else f"{identifier[:31]}~{digest(identifier)}"


def in_words(identifier: str) -> str:
    """
    An identifier for people.

    >>> in_words("take.by-species")
    'take by species'
    """
    return re.sub("[.-]+", " ", identifier)


def marked(key: str, number: int, content: Sequence[Element], picture: bytes | None = None) -> Element:
    """
    A content control round runs of a paragraph, or round whole paragraphs and tables.

    Its tag holds the key and a digest of the text; a bookmark says the same for programs that drop the control.
    """
    inside, first, last = element("sdtContent", *content), content[0], content[-1]
    sign = digest(text_of(inside)) + ("" if picture is None else digest(picture))
    start, end = bookmarked(mark_name(key, sign), number)
    properties = element(
        "sdtPr",
        element("alias", val=in_words(key)[:LONGEST]),
        element("tag", val=f"{key}:{sign}"),
        element("id", val=number),
    )
    if first.tag == qn("w:p"):
        first.insert(1, start)
        last.append(end)
    else:
        inside.insert(0, start)
        inside.append(end)
    return element("sdt", properties, inside)


def mark_name(key: str, sign: str) -> str:
    """The name of the bookmark inside a marked block."""
    return f"_block_{digest(key)}_{sign}"


def place_name(identifier: str) -> str:
    """The name of the bookmark round the number of a table or a figure."""
    return f"_number_{digest(identifier)}"


def digest(content: str | bytes) -> str:
    """Eight hexadecimal digits; of text they do not change with its white space."""
    plain = " ".join(content.split()).encode("utf-8", "replace") if isinstance(content, str) else content
    return sha256(plain).hexdigest()[:8]


def text_of(part: Element) -> str:
    """The text in an element as it now reads, with a space after each paragraph; numbers that fields count left out."""
    texts, depths = [], [""]
    for node in part.iter(qn("w:t"), qn("w:tab"), qn("w:br"), qn("w:noBreakHyphen"), qn("w:p"), qn("w:fldChar")):
        name = node.tag.rpartition("}")[2]
        if name == "fldChar":
            kind = node.get(qn("w:fldCharType"))
            depths = {"begin": [*depths, ""], "separate": [*depths[:-1], "counted"], "end": depths[:-1] or [""]}[kind]
        elif depths[-1] or any(above.tag in NOT_READ for above in node.iterancestors()):
            continue
        else:
            texts.append(node.text or "" if name == "t" else "\u2011" if name == "noBreakHyphen" else " ")
    return " ".join("".join(texts).split())


def _fields(body: Element) -> Iterator[tuple[str, str, list[Element]]]:
    """Each numbering field in order: its kind (SEQ, REF), its first argument, the runs that show its number."""
    open_fields: list[list] = []
    for node in body.iter(qn("w:fldSimple"), qn("w:fldChar"), qn("w:instrText"), qn("w:r")):
        kind = node.get(qn("w:fldCharType"))
        if node.tag == qn("w:fldSimple"):
            if numbered := NUMBERED.match(node.get(qn("w:instr"), "")):
                yield numbered[1], numbered[2], node.findall(qn("w:r"))
        elif kind == "begin":
            open_fields.append(["", None])
        elif not open_fields:
            continue
        elif node.tag == qn("w:instrText"):
            open_fields[-1][0] += node.text or ""
        elif kind == "separate":
            open_fields[-1][1] = []
        elif kind == "end":
            code, runs = open_fields.pop()
            if (numbered := NUMBERED.match(code)) and runs is not None:
                yield numbered[1], numbered[2], runs[:-1]
        elif node.tag == qn("w:r") and open_fields[-1][1] is not None:
            open_fields[-1][1].append(node)


def renumber(body: Element) -> None:
    """Make the fields show the numbers that a word processor would count, and the references to them as well."""
    counted: Counter[str] = Counter()
    for kind, name, runs in list(_fields(body)):
        if kind == "SEQ":
            counted[name] += 1
            _show(runs, str(counted[name]))
    labels = _labels(body)
    for kind, name, runs in list(_fields(body)):
        if kind == "REF" and name in labels:
            _show(runs, labels[name])


def _labels(body: Element) -> dict[str, str]:
    """The text of each bookmark that holds a counting field."""
    texts: dict[str, str] = {}
    names: dict[str, str] = {}
    counting: set[str] = set()
    for node in body.iter(qn("w:bookmarkStart"), qn("w:bookmarkEnd"), qn("w:t"), qn("w:instrText"), qn("w:fldSimple")):
        if node.tag == qn("w:bookmarkStart"):
            names[node.get(qn("w:id"))] = node.get(qn("w:name"))
            texts[node.get(qn("w:name"))] = ""
        elif node.tag == qn("w:bookmarkEnd"):
            names.pop(node.get(qn("w:id")), None)
        elif node.tag == qn("w:t"):
            texts.update((name, texts[name] + (node.text or "")) for name in names.values())
        elif "SEQ" in (node.text or node.get(qn("w:instr"), "")):
            counting.update(names.values())
    return {name: texts[name] for name in counting}


def _show(runs: Sequence[Element], text: str) -> None:
    pieces = [piece for node in runs for piece in node.iter(qn("w:t"))]
    if pieces and "".join(piece.text or "" for piece in pieces) != text:
        for piece in pieces:
            piece.text = ""
        pieces[0].text = text


def section_end(last: Element, *, landscape: bool) -> Element:
    """A paragraph, too low to be seen, that ends a section set like the document's last, upright or on its side."""
    section = deepcopy(last)
    size = section.find(qn("w:pgSz"))
    short, long = sorted((int(size.get(qn("w:w"))), int(size.get(qn("w:h")))))
    turned = element(
        "pgSz", **({"w": long, "h": short, "orient": "landscape"} if landscape else {"w": short, "h": long})
    )
    section.replace(size, turned)
    spacing = element("spacing", before=0, after=0, line=20, lineRule="exact")
    return element("p", element("pPr", element("suppressLineNumbers"), spacing, section))


def drawing(relation: str, number: int, name: str, description: str, width: int, height: int) -> Element:
    """A run with a picture in the line, width and height in EMU, and the words for readers who cannot see it."""
    picture = parse_xml(
        f'<w:r {nsdecls("w", "wp", "a", "pic", "r")}><w:drawing><wp:inline distT="0" distB="0" distL="0" distR="0">'
        f'<wp:extent cx="{width}" cy="{height}"/><wp:docPr id="{number}" name=""/><wp:cNvGraphicFramePr>'
        '<a:graphicFrameLocks noChangeAspect="1"/></wp:cNvGraphicFramePr><a:graphic><a:graphicData '
        'uri="http://schemas.openxmlformats.org/drawingml/2006/picture"><pic:pic><pic:nvPicPr>'
        f'<pic:cNvPr id="{number}" name=""/><pic:cNvPicPr/></pic:nvPicPr><pic:blipFill><a:blip r:embed="{relation}"/>'
        '<a:stretch><a:fillRect/></a:stretch></pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/>'
        f'<a:ext cx="{width}" cy="{height}"/></a:xfrm><a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr>'
        "</pic:pic></a:graphicData></a:graphic></wp:inline></w:drawing></w:r>"
    )
    properties = next(picture.iter(qn("wp:docPr")))
    properties.set("name", ILLEGAL.sub("", name))
    properties.set("descr", ILLEGAL.sub("", description))
    return picture
