"""Makes template.docx, the styles of our Word documents: `python -m opnote.compose.make_template`.

python-docx brings a template of its own, but that one fails the validation of its parts and carries
150 styles that no document of ours uses.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

TEMPLATE: Final = Path(__file__).with_name("template.docx")

_FONT: Final = "Times New Roman"
_W: Final = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
_R: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_CONTENT: Final = "application/vnd.openxmlformats-officedocument.wordprocessingml"
_PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006"
_PROLOGUE: Final = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_ROOT: Final = f'xmlns:w="{_W}" xmlns:r="{_R}"'

_WORD_STYLES: Final = {
    "Title": "Title",
    "Heading 1": "heading 1",
    "Heading 2": "heading 2",
    "Heading 3": "heading 3",
    "Body Text": "Body Text",
    "List Bullet": "List Bullet",
    "List Number": "List Number",
    "Caption": "caption",
    "Header": "header",
    "Footer": "footer",
}
"""The styles that Word has itself, with the names it stores; all others are ours."""

_RULE: Final = 'w:val="single" w:sz="4" w:space="{space}" w:color="808080"'
_FRAME: Final = "".join(
    f'<w:{side} w:val="single" w:sz="8" w:space="5" w:color="000000"/>'
    for side in ("top", "left", "bottom", "right")
)


def _style(name: str, paragraph: str = "", run: str = "", *, based_on: str = "Normal") -> str:
    """A paragraph style; its id is the name without spaces."""
    custom = "" if name in _WORD_STYLES else 'w:customStyle="1" '
    return (
        f'<w:style w:type="paragraph" {custom}w:styleId="{name.replace(" ", "")}">'
        f'<w:name w:val="{_WORD_STYLES.get(name, name)}"/>'
        f'<w:basedOn w:val="{based_on}"/><w:qFormat/>'
        f"<w:pPr>{paragraph}</w:pPr><w:rPr>{run}</w:rPr></w:style>"
    )


def _spacing(before: int, after: int, line: int = 252) -> str:
    return f'<w:spacing w:before="{before}" w:after="{after}" w:line="{line}" w:lineRule="auto"/>'


def _exactly(twips: int) -> str:
    return f'<w:spacing w:before="0" w:after="0" w:line="{twips}" w:lineRule="exact"/>'


def _size(half_points: int) -> str:
    return f'<w:sz w:val="{half_points}"/><w:szCs w:val="{half_points}"/>'


def _heading(name: str, size: int, before: int, after: int, outline: int, *, run: str = "") -> str:
    rule = f"<w:pBdr><w:top {_RULE.format(space=3)}/></w:pBdr>" if outline == 0 else ""
    return _style(
        name,
        f"<w:keepNext/><w:keepLines/>{rule}{_spacing(before, after, 240)}"
        f'<w:outlineLvl w:val="{outline}"/>',
        f"<w:b/><w:bCs/>{run}{_size(size)}",
    )


def _list(name: str, number: int, *, frame: str = "", run: str = "") -> str:
    # A framed list stands in by the width of its frame.
    left = 460 if frame else 340
    return _style(
        name,
        f'<w:numPr><w:numId w:val="{number}"/></w:numPr>{frame}{_spacing(0, 40)}'
        f'<w:ind w:left="{left}" w:right="{left - 340}" w:hanging="340"/>',
        run,
    )


def _table_style(name: str, border: str, first_row: str, first_column: str) -> str:
    return (
        f'<w:style w:type="table" w:customStyle="1" w:styleId="{name}"><w:name w:val="{name}"/>'
        '<w:basedOn w:val="TableNormal"/><w:qFormat/><w:tblPr>'
        f"<w:tblBorders>{border}</w:tblBorders>"
        '<w:tblCellMar><w:top w:w="28" w:type="dxa"/><w:left w:w="0" w:type="dxa"/>'
        '<w:bottom w:w="28" w:type="dxa"/><w:right w:w="140" w:type="dxa"/></w:tblCellMar>'
        "</w:tblPr>"
        f"{first_row}{first_column}</w:style>"
    )


def _styles() -> str:
    thin = _RULE.format(space=0)
    firm = 'w:val="single" w:sz="8" w:space="0" w:color="000000"'
    return (
        f"{_PROLOGUE}<w:styles {_ROOT}><w:docDefaults><w:rPrDefault><w:rPr>"
        f'<w:rFonts w:ascii="{_FONT}" w:hAnsi="{_FONT}" w:eastAsia="{_FONT}" w:cs="{_FONT}"/>'
        f'{_size(22)}<w:lang w:val="en-GB" w:eastAsia="en-GB" w:bidi="ar-SA"/>'
        "</w:rPr></w:rPrDefault><w:pPrDefault/></w:docDefaults>"
        '<w:style w:type="paragraph" w:default="1" w:styleId="Normal"><w:name w:val="Normal"/>'
        "<w:qFormat/><w:pPr><w:widowControl/></w:pPr></w:style>"
        '<w:style w:type="character" w:default="1" w:styleId="DefaultParagraphFont">'
        '<w:name w:val="Default Paragraph Font"/><w:uiPriority w:val="1"/><w:semiHidden/></w:style>'
        '<w:style w:type="table" w:default="1" w:styleId="TableNormal">'
        '<w:name w:val="Normal Table"/><w:uiPriority w:val="99"/><w:semiHidden/><w:tblPr>'
        '<w:tblInd w:w="0" w:type="dxa"/></w:tblPr></w:style>'
        '<w:style w:type="numbering" w:default="1" w:styleId="NoList"><w:name w:val="No List"/>'
        '<w:uiPriority w:val="99"/><w:semiHidden/></w:style>'
        + _style(
            "Title",
            f"<w:keepNext/><w:keepLines/>{_spacing(0, 140, 240)}",
            f"<w:b/><w:bCs/>{_size(31)}",
        )
        + _heading("Heading 1", 24, 220, 60, 0)
        + _heading("Heading 2", 22, 130, 30, 1)
        + _heading("Heading 3", 22, 110, 30, 2, run="<w:i/><w:iCs/>")
        + _style("Body Text", _spacing(0, 110))
        + _style("Lead", _spacing(0, 130), _size(25), based_on="BodyText")
        + _style("Source", _spacing(0, 80), _size(18), based_on="BodyText")
        + _style(
            "Caution",
            f"<w:keepLines/><w:pBdr>{_FRAME}</w:pBdr>{_spacing(140, 180)}"
            '<w:ind w:left="120" w:right="120"/>',
            based_on="BodyText",
        )
        + _list("List Bullet", 1)
        + _list("List Number", 2)
        + _list("Source Bullet", 1, run=_size(18))
        + _list("Source Number", 2, run=_size(18))
        + _list("Caution Bullet", 1, frame=f"<w:pBdr>{_FRAME}</w:pBdr>")
        + _list("Caution Number", 2, frame=f"<w:pBdr>{_FRAME}</w:pBdr>")
        + _style("After List", _exactly(70), _size(2))
        + _style("Figure", f"<w:keepNext/>{_spacing(120, 60, 240)}")
        + _style("Caption", _spacing(0, 140, 240), _size(20))
        + _style("Table Text", _spacing(0, 0, 245), _size(21))
        + _style("Table Heading", "<w:keepNext/>", "<w:b/><w:bCs/>", based_on="TableText")
        + _style("Fact Label", "", "<w:b/><w:bCs/>", based_on="TableText")
        + _style("After Table", _exactly(130), _size(2))
        + _style(
            "Header",
            f"<w:pBdr><w:bottom {_RULE.format(space=2)}/></w:pBdr>"
            '<w:tabs><w:tab w:val="right" w:pos="9638"/></w:tabs>'
            '<w:spacing w:before="0" w:after="160"/>',
            _size(18),
        )
        + _style("Footer", '<w:jc w:val="right"/>', _size(18))
        + _style(
            "Preliminary",
            f'<w:pBdr>{_FRAME}</w:pBdr><w:spacing w:before="0" w:after="120"/>'
            '<w:ind w:left="120" w:right="120"/><w:jc w:val="center"/>',
            f'<w:b/><w:bCs/><w:spacing w:val="60"/>{_size(32)}',
        )
        + _table_style(
            "Grid",
            f"<w:top {firm}/><w:bottom {thin}/><w:insideH {thin}/>",
            '<w:tblStylePr w:type="firstRow"><w:tcPr><w:tcBorders>'
            f'<w:bottom {firm}/></w:tcBorders><w:vAlign w:val="bottom"/></w:tcPr></w:tblStylePr>',
            "",
        )
        + _table_style(
            "Facts",
            f"<w:top {thin}/><w:bottom {thin}/><w:insideH {thin}/>",
            "",
            '<w:tblStylePr w:type="firstCol"><w:rPr><w:b/></w:rPr></w:tblStylePr>',
        )
        + "</w:styles>"
    )


def _numbering() -> str:
    def level(form: str, text: str) -> str:
        return (
            f'<w:multiLevelType w:val="singleLevel"/><w:lvl w:ilvl="0"><w:start w:val="1"/>'
            f'<w:numFmt w:val="{form}"/><w:lvlText w:val="{text}"/><w:lvlJc w:val="left"/>'
            '<w:pPr><w:ind w:left="340" w:hanging="340"/></w:pPr></w:lvl>'
        )

    return (
        f"{_PROLOGUE}<w:numbering {_ROOT}>"
        f'<w:abstractNum w:abstractNumId="0">{level("bullet", "•")}</w:abstractNum>'
        f'<w:abstractNum w:abstractNumId="1">{level("decimal", "%1.")}</w:abstractNum>'
        '<w:num w:numId="1"><w:abstractNumId w:val="0"/></w:num>'
        '<w:num w:numId="2"><w:abstractNumId w:val="1"/></w:num></w:numbering>'
    )


def _document() -> str:
    return (
        f"{_PROLOGUE}<w:document {_ROOT}><w:body><w:sectPr>"
        '<w:headerReference w:type="default" r:id="rId4"/>'
        '<w:footerReference w:type="default" r:id="rId5"/>'
        '<w:pgSz w:w="11906" w:h="16838"/>'
        '<w:pgMar w:top="1247" w:right="1134" w:bottom="1134" w:left="1134" '
        'w:header="567" w:footer="567" w:gutter="0"/></w:sectPr></w:body></w:document>'
    )


def _footer() -> str:
    def field(name: str) -> str:
        return f'<w:fldSimple w:instr=" {name} "><w:r><w:t>1</w:t></w:r></w:fldSimple>'

    def words(text: str) -> str:
        return f'<w:r><w:t xml:space="preserve">{text}</w:t></w:r>'

    return (
        f'{_PROLOGUE}<w:ftr {_ROOT}><w:p><w:pPr><w:pStyle w:val="Footer"/></w:pPr>'
        f"{words('Page ')}{field('PAGE')}{words(' of ')}{field('NUMPAGES')}</w:p></w:ftr>"
    )


def _settings() -> str:
    # Compatibility mode 15 is that of Word 2013 and later; without it Word shows an old layout.
    return (
        f'{_PROLOGUE}<w:settings {_ROOT}><w:zoom w:percent="100"/><w:defaultTabStop w:val="720"/>'
        '<w:compat><w:compatSetting w:name="compatibilityMode" '
        'w:uri="http://schemas.microsoft.com/office/word" w:val="15"/></w:compat>'
        '<w:themeFontLang w:val="en-GB"/></w:settings>'
    )


def _core_properties() -> str:
    return (
        f'{_PROLOGUE}<cp:coreProperties xmlns:cp="{_PACKAGE}/metadata/core-properties" '
        'xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:dcterms="http://purl.org/dc/terms/" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"/>'
    )


def _font_table() -> str:
    return (
        f'{_PROLOGUE}<w:fonts {_ROOT}><w:font w:name="{_FONT}"><w:family w:val="roman"/>'
        '<w:pitch w:val="variable"/></w:font></w:fonts>'
    )


def _theme() -> str:
    """The least theme that is valid: black, white and greys, one font."""
    greys = {"dk2": "404040", "lt2": "F2F2F2", "hlink": "000000", "folHlink": "000000"}
    accents = {f"accent{number}": "595959" for number in range(1, 7)}
    order = ("dk2", "lt2", *accents, "hlink", "folHlink")
    colours = "".join(
        f'<a:{name}><a:srgbClr val="{(greys | accents)[name]}"/></a:{name}>' for name in order
    )
    fonts = "".join(
        f'<a:{name}><a:latin typeface="{_FONT}"/><a:ea typeface=""/><a:cs typeface=""/></a:{name}>'
        for name in ("majorFont", "minorFont")
    )
    fill = '<a:solidFill><a:schemeClr val="phClr"/></a:solidFill>'
    effect = "<a:effectStyle><a:effectLst/></a:effectStyle>"
    formats = (
        f"<a:fillStyleLst>{fill * 3}</a:fillStyleLst>"
        f"<a:lnStyleLst>{f'<a:ln>{fill}</a:ln>' * 3}</a:lnStyleLst>"
        f"<a:effectStyleLst>{effect * 3}</a:effectStyleLst>"
        f"<a:bgFillStyleLst>{fill * 3}</a:bgFillStyleLst>"
    )
    return (
        f'{_PROLOGUE}<a:theme xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main" '
        'name="Plain"><a:themeElements><a:clrScheme name="Plain">'
        '<a:dk1><a:srgbClr val="000000"/></a:dk1><a:lt1><a:srgbClr val="FFFFFF"/></a:lt1>'
        f'{colours}</a:clrScheme><a:fontScheme name="Plain">{fonts}</a:fontScheme>'
        f'<a:fmtScheme name="Plain">{formats}</a:fmtScheme></a:themeElements></a:theme>'
    )


_WORD_PARTS: Final = ("styles", "numbering", "settings", "header", "footer", "fontTable")
"""In the order of their relationship ids, rId1 to rId6; the theme follows."""


def _relationships(targets: Mapping[str, str]) -> str:
    entries = "".join(
        f'<Relationship Id="rId{number}" Type="{kind}" Target="{target}"/>'
        for number, (target, kind) in enumerate(targets.items(), start=1)
    )
    return f'{_PROLOGUE}<Relationships xmlns="{_PACKAGE}/relationships">{entries}</Relationships>'


def _content_types() -> str:
    overrides = {
        "/word/document.xml": f"{_CONTENT}.document.main+xml",
        **{f"/word/{part}.xml": f"{_CONTENT}.{part}+xml" for part in _WORD_PARTS},
        "/word/theme.xml": "application/vnd.openxmlformats-officedocument.theme+xml",
        "/docProps/core.xml": "application/vnd.openxmlformats-package.core-properties+xml",
    }
    entries = "".join(
        f'<Override PartName="{part}" ContentType="{kind}"/>' for part, kind in overrides.items()
    )
    return (
        f'{_PROLOGUE}<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Default Extension="xml" ContentType="application/xml"/>{entries}</Types>'
    )


def _parts() -> Iterator[tuple[str, str]]:
    yield "[Content_Types].xml", _content_types()
    yield (
        "_rels/.rels",
        _relationships(
            {
                "word/document.xml": f"{_R}/officeDocument",
                "docProps/core.xml": f"{_PACKAGE}/relationships/metadata/core-properties",
            }
        ),
    )
    yield "word/document.xml", _document()
    yield (
        "word/_rels/document.xml.rels",
        _relationships({f"{part}.xml": f"{_R}/{part}" for part in (*_WORD_PARTS, "theme")}),
    )
    yield "word/styles.xml", _styles()
    yield "word/numbering.xml", _numbering()
    yield "word/settings.xml", _settings()
    yield "word/header.xml", f"{_PROLOGUE}<w:hdr {_ROOT}><w:p/></w:hdr>"
    yield "word/footer.xml", _footer()
    yield "word/fontTable.xml", _font_table()
    yield "word/theme.xml", _theme()
    yield "docProps/core.xml", _core_properties()


def write_template(path: Path) -> None:
    """Write the template; the same bytes each time."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, xml in _parts():
            package.writestr(zipfile.ZipInfo(name), xml.encode(), zipfile.ZIP_DEFLATED)


if __name__ == "__main__":
    write_template(TEMPLATE)
