"""The Word file around the text: page, styles, language, properties, and packing that gives the same bytes again."""

import io
import zipfile
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Literal

from docx.enum.style import WD_STYLE_TYPE
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.opc.constants import RELATIONSHIP_TYPE
from docx.opc.packuri import PackURI
from docx.opc.part import Part
from docx.oxml import parse_xml
from docx.oxml.ns import qn
from docx.shared import Cm, Inches, Mm, Pt
from lxml import etree

from reports.word.parts import element, field

FONT = "Times New Roman"
MARGIN = Cm(2.54)
LONG_AGO = datetime(2000, 1, 1)
STAMP = (2000, 1, 1, 0, 0, 0)
# Name, points, bold, lines, points before and after.
STYLES = (
    ("Normal", 12, False, 2, 0, 0),
    ("Title", 17, True, 1.5, 0, 12),
    ("Heading 1", 14, True, 1.5, 18, 6),
    ("Heading 2", 12, True, 1.5, 12, 3),
    ("Heading 3", 12, False, 1.5, 12, 3),
    ("Caption", 11, False, 1, 6, 6),
    ("List Bullet", 12, False, 2, 0, 0),
    ("Footer", 10, False, 1, 0, 0),
    ("Picture", 12, False, 1, 6, 0),
    ("Block Edge", 6, False, 1, 0, 0),
    ("Reference", 12, False, 2, 0, 0),
    ("Table Text", 9, False, 1, 1.5, 1.5),
    ("Table Note", 9, False, 1, 3, 0),
    ("File Note", 9, False, 1, 0, 18),
)
OWN = ("Picture", "Block Edge", "Reference", "Table Text", "Table Note", "File Note")
KEPT = {name.replace(" ", "") for name, *_ in STYLES} | {"Header", "DefaultParagraphFont", "NoList"}
KEPT |= {"TableNormal", "TableGrid"}
PROPERTIES = "http://schemas.openxmlformats.org/officeDocument/2006/custom-properties"
VALUES = "http://schemas.openxmlformats.org/officeDocument/2006/docPropsVTypes"
PROPERTIES_TYPE = "application/vnd.openxmlformats-officedocument.custom-properties+xml"
REMEMBERED = "Marked blocks "


def set_up(document: Any, title: str, spelling: Literal["british", "american"]) -> None:
    """Give a new document its page, line numbers, page number, styles, language and properties."""
    section, british = document.sections[0], spelling == "british"
    section.page_width, section.page_height = (Mm(210), Mm(297)) if british else (Inches(8.5), Inches(11))
    section.left_margin = section.right_margin = section.top_margin = section.bottom_margin = MARGIN
    section._sectPr.find(qn("w:pgMar")).addnext(element("lnNumType", countBy=1, restart="continuous"))
    footer = section.footer.paragraphs[0]
    footer.alignment = WD_ALIGN_PARAGRAPH.CENTER
    footer._p.extend(field("PAGE", "1"))
    core, language = document.core_properties, "en-GB" if british else "en-US"
    core.title, core.language, core.author, core.comments, core.keywords = title, language, "", "", ""
    core.last_modified_by, core.created, core.modified, core.revision = "", LONG_AGO, LONG_AGO, 1
    for tongue in document.settings.element.iter(qn("w:themeFontLang")):
        tongue.set(qn("w:val"), language)
    for setting in document.settings.element.iter(qn("w:compatSetting")):
        if setting.get(qn("w:name")) == "compatibilityMode":
            setting.set(qn("w:val"), "15")
    for name, relation in list(document.part.package.rels.items()):
        if relation.reltype == RELATIONSHIP_TYPE.THUMBNAIL:
            del document.part.package.rels[name]
    _style(document, language)


def remembered(document: Any) -> frozenset[str]:
    """Keys of all blocks that were ever written into the document."""
    part = _properties(document)
    if part is None:
        return frozenset()
    entries = parse_xml(part.blob)
    texts = ("".join(entry.itertext()) for entry in entries if entry.get("name", "").startswith(REMEMBERED))
    return frozenset(key for text in texts for key in text.split())


def remember(document: Any, written: Iterable[str]) -> None:
    """Note the keys in the document's own properties, beside those noted before; other properties stay."""
    properties, names = _properties(document), sorted({*written, *remembered(document)})
    root = (
        etree.Element(f"{{{PROPERTIES}}}Properties", nsmap={None: PROPERTIES})
        if properties is None
        else parse_xml(properties.blob)
    )
    for entry in [entry for entry in root if entry.get("name", "").startswith(REMEMBERED)]:
        root.remove(entry)
    first = max([1, *(int(entry.get("pid", 1)) for entry in root)]) + 1
    # Word cuts a property's text at 255 characters; a key has 40 at most.
    for number, start in enumerate(range(0, len(names), 6)):
        values = {"fmtid": "{D5CDD505-2E9C-101B-9397-08002B2CF9AE}", "pid": str(first + number)}
        entry = etree.SubElement(root, f"{{{PROPERTIES}}}property", {**values, "name": f"{REMEMBERED}{number + 1}"})
        etree.SubElement(entry, f"{{{VALUES}}}lpwstr", nsmap={"vt": VALUES}).text = " ".join(names[start : start + 6])
    blob = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    if properties is None:
        properties = Part(PackURI("/docProps/custom.xml"), PROPERTIES_TYPE, blob, document.part.package)
        document.part.package.relate_to(properties, RELATIONSHIP_TYPE.CUSTOM_PROPERTIES)
    properties._blob = blob


def packed(document: Any, kept: Mapping[str, bytes] | None = None) -> bytes:
    """The document as bytes, with fixed times; parts named in `kept` go in as they are there."""
    loose, tight = io.BytesIO(), io.BytesIO()
    document.save(loose)
    with zipfile.ZipFile(loose) as old, zipfile.ZipFile(tight, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = (kept or {}).get(name, old.read(name))
            new.writestr(zipfile.ZipInfo(name, STAMP), content, zipfile.ZIP_DEFLATED)
    return tight.getvalue()


def _properties(document: Any) -> Any:
    relations = document.part.package.rels.values()
    return next((rel.target_part for rel in relations if rel.reltype == RELATIONSHIP_TYPE.CUSTOM_PROPERTIES), None)


def _style(document: Any, language: str) -> None:
    styles, root = document.styles, document.styles.element
    for style in root.findall(qn("w:style")):
        name = style.get(qn("w:styleId")).removesuffix("Char")
        if name not in KEPT and not name.startswith("List"):
            root.remove(style)
    for showy in [*root.iter(qn("w:color"), qn("w:pBdr"), qn("w:contextualSpacing"), qn("w:semiHidden"))]:
        showy.getparent().remove(showy)
    for fonts in root.iter(qn("w:rFonts")):
        fonts.attrib.clear()
        fonts.attrib.update({qn(f"w:{script}"): FONT for script in ("ascii", "hAnsi", "eastAsia", "cs")})
    for tongue in root.iter(qn("w:lang")):
        tongue.set(qn("w:val"), language)
    for name in OWN:
        styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH).base_style = styles["Normal"]
    for name, size, bold, lines, before, after in STYLES:
        style = styles[name]
        style.font.size, style.font.bold = Pt(size), bold
        shape = style.paragraph_format
        shape.line_spacing, shape.space_before, shape.space_after = float(lines), Pt(before), Pt(after)
    styles["Heading 3"].font.italic = True
    hanging = styles["Reference"].paragraph_format
    hanging.left_indent, hanging.first_line_indent = Cm(1), Cm(-1)
    box: dict[str, str | int] = {"val": "single", "sz": 4, "space": 4, "color": "auto"}
    frame = element("pBdr", *(element(side, **box) for side in ("top", "left", "bottom", "right")))
    for name in ("File Note", "Picture", "Block Edge"):
        styles[name].element.get_or_add_pPr().insert(0, element("suppressLineNumbers"))
    styles["File Note"].element.pPr.insert(1, frame)
