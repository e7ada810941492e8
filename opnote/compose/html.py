"""A document as HTML: one page that needs nothing else, and single blocks for the preview."""

from __future__ import annotations

import base64
import re
from html import escape
from typing import Final, assert_never

from opnote.compose.binding import bound
from opnote.compose.clean import printable
from opnote.compose.columns import stacked
from opnote.compose.document import (
    LARGE_PRINT_PT,
    PATIENT_DOCUMENTS,
    PICTURE_HEIGHT_MM,
    Block,
    Document,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    Picture,
    PicturePage,
    Run,
    Sentence,
    Table,
)
from opnote.compose.running import running_state, running_subject, running_title

_RULED_BY_HAND: Final = "&nbsp;" * 70
_RULED_LINE: Final = "&nbsp;" * 28
_PIXELS_A_MM: Final = 96 / 25.4
_SVG_PROLOGUE: Final = re.compile(r"\A\s*(<\?xml.*?\?>\s*)?(<!DOCTYPE[^>]*>\s*)?", re.DOTALL)

_STYLE: Final = """
:root { color-scheme: light; }
body { font: %(size)spt/1.38 "Libertinus Serif", "Cambria", "Times New Roman", serif; color: #000;
  background: #fff; max-width: 170mm; margin: 8mm auto; padding: 0 5mm; overflow-wrap: anywhere; }
.subject { border-bottom: 0.5pt solid #000; padding-bottom: 1mm; font-weight: bold; }
.state { font-size: 0.84em; padding-top: 1mm; }
.mark { font-size: 15pt; font-weight: bold; letter-spacing: 0.2em; text-align: center;
  border: 1pt solid #000; margin-bottom: 2mm; }
h1 { font-size: 1.45em; line-height: 1.2; margin: 5mm 0 3mm; }
h2 { font-size: 1.08em; margin: 4.5mm 0 1mm; border-top: 0.4pt solid #000; padding-top: 1mm; }
h3 { font-size: 1em; margin: 3mm 0 0.5mm; }
h4 { font-size: 1em; font-style: italic; margin: 2.5mm 0 0.5mm; }
h1, h2, h3, h4 { break-after: avoid; }
p, ul, ol { margin: 0 0 2mm; orphans: 2; widows: 2; }
ul, ol { padding-left: 6mm; }
.lead { font-size: 1.12em; }
.source { font-size: 0.84em; }
table { border-collapse: collapse; width: 100%%; margin: 1mm 0 3mm; }
th, td { padding: 0.7mm 3mm 0.7mm 0; text-align: left; vertical-align: top;
  border-bottom: 0.4pt solid #777; }
th[align=right], td[align=right] { text-align: right; }
thead th { border-bottom: 0.8pt solid #000; vertical-align: bottom; }
table.caution { border: 1pt solid #000; }
table.caution td { border: 0; padding: 1.5mm 3mm; }
table.caution p, table.caution ul, table.caution ol { margin-bottom: 0; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
a.field { color: inherit; text-decoration: none; }
u { white-space: nowrap; }
figure { margin: 2mm 0 3mm; break-inside: avoid; }
figure svg { max-width: 100%%; height: auto; }
figcaption { font-size: 0.9em; }
.new-page { break-before: page; }
.pictures { display: flex; flex-wrap: wrap; gap: 4mm 6mm; }
.pictures figure { flex: 0 0 calc(50%% - 3mm); margin: 0; }
.pictures img { max-width: 100%%; width: auto; height: auto; max-height: %(picture)gmm; }
.pictures figcaption { margin-top: 1mm; }
.missing { border: 0.8pt dashed #000; padding: 4mm; margin: 0; }
.every-page { display: none; }
@page { size: A4; margin: 24mm 20mm 18mm;
  @top-left { content: %(subject)s; font: bold 9pt serif; width: 62%%; }
  @top-right { content: %(title)s; font: 9pt serif; text-align: right; width: 38%%; }
  @bottom-left { content: %(state)s; font: 9pt serif; width: 75%%; }
  @bottom-right { content: "Page " counter(page) " of " counter(pages); font: 9pt serif; } }
@media print {
  body { margin: 0; padding: 0; max-width: none; }
  .every-page { display: block; position: fixed; top: 45%%; left: 0; right: 0; z-index: -1;
    text-align: center; font-size: 64pt; font-weight: bold; letter-spacing: 0.08em;
    color: #e4e4e4; transform: rotate(-35deg); } }
"""


def _size_pt(document: Document) -> float:
    if document.is_large:
        return LARGE_PRINT_PT
    return 12.5 if document.kind in PATIENT_DOCUMENTS else 11


def html_from(document: Document, *, links: bool = False) -> str:
    """The document as a complete HTML page, with its own style for screen and print.

    links: each text that comes from a field is a link to "field:<path>", otherwise a span that
    keeps the path in `data-field`.
    """
    style = _STYLE % {
        "size": _size_pt(document),
        "subject": _css_string(running_subject(document)),
        "title": _css_string(running_title(document)),
        "state": _css_string(running_state(document)),
        "picture": PICTURE_HEIGHT_MM,
    }
    marked = escape(document.mark)
    mark = f'<div class="mark">{marked}</div>\n' if marked else ""
    every_page = f'<div class="every-page" aria-hidden="true">{marked}</div>\n' if marked else ""
    words = escape(running_state(document))
    state = f'<div class="state">{words}</div>\n' if words else ""
    shown = stacked(document.blocks) if document.is_large else document.blocks
    blocks = "\n".join(_markup(block, links=links) for block in shown)
    return (
        "<!DOCTYPE html>\n"
        f'<html lang="{_attribute(document.language)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta name="author" content="{_attribute(document.author)}">\n'
        f"<title>{escape(printable(document.title))}</title>\n<style>{style}</style>\n</head>\n"
        f"<body>\n<header>\n{mark}"
        f'<div class="subject">{_runs(document.subject, links=links)}</div>\n{state}</header>\n'
        f"{every_page}<main>\n{blocks}\n</main>\n</body>\n</html>\n"
    )


def _markup(block: Block, *, links: bool) -> str:
    anchor = f'id="{_attribute(block.id)}"'
    match block:
        case Heading(level=level, runs=runs, starts_page=starts_page):
            page = ' class="new-page"' if starts_page else ""
            return f"<h{level} {anchor}{page}>{_runs(runs, links=links)}</h{level}>"
        case Paragraph(sentences=sentences, style=style):
            paragraph = (
                f'<p {anchor} class="{_attribute(style)}">{_sentences(sentences, links)}</p>'
            )
            return _framed(paragraph) if style == "caution" else paragraph
        case ItemList(items=items, numbered=numbered, style=style):
            tag = "ol" if numbered else "ul"
            entries = "".join(f"<li>{_sentences(item, links)}</li>" for item in items)
            entries = f'<{tag} {anchor} class="{_attribute(style)}">{entries}</{tag}>'
            return _framed(entries) if style == "caution" else entries
        case Table():
            return _table(block, anchor, links=links)
        case Figure():
            return _inline_figure(block, _runs(block.caption, links=links))
        case PicturePage():
            return _pictures(block, anchor, links=links)
        case _:
            assert_never(block)


def _framed(markup: str) -> str:
    # Qt's rich text draws a frame round a table only.
    return (
        '<table role="presentation" class="caution" border="1" cellspacing="0" cellpadding="6" '
        f'width="100%"><tr><td>{markup}</td></tr></table>'
    )


def _table(table: Table, anchor: str, *, links: bool) -> str:
    name = "grid" if table.header else "facts"
    opening = (
        f'<table {anchor} class="{name} {_attribute(table.style)}" border="0" cellspacing="0" '
        'cellpadding="3" width="100%">'
    )
    alignments = [' align="right"' if numeric else ' align="left"' for numeric in table.numeric]
    head = ""
    if table.header:
        titles = "".join(
            f'<th scope="col"{align}>{_runs(cell, links=links)}</th>'
            for cell, align in zip(table.header, alignments, strict=True)
        )
        head = f"<thead><tr>{titles}</tr></thead>"
    rows = []
    for cells in table.rows:
        filled = [_runs(cell, links=links) for cell in cells]
        markup = [
            f'<td{align} valign="top">{cell}</td>'
            for cell, align in zip(filled, alignments, strict=True)
        ]
        if not table.header:
            markup[0] = f'<th scope="row" align="left" valign="top" width="26%">{filled[0]}</th>'
        rows.append(f"<tr>{''.join(markup)}</tr>")
    return f"{opening}{head}<tbody>{''.join(rows)}</tbody></table>"


def _inline_figure(figure: Figure, caption: str) -> str:
    drawing = printable(_SVG_PROLOGUE.sub("", figure.svg, count=1))
    captioned = f"<figcaption>{caption}</figcaption>" if caption else ""
    return (
        f'<figure id="{_attribute(figure.id)}">'
        f'<div role="img" aria-label="{_attribute(figure.alternative)}" '
        f'style="width: {figure.width_mm:g}mm; max-width: 100%">{drawing}</div>{captioned}</figure>'
    )


def _pictures(page: PicturePage, anchor: str, *, links: bool) -> str:
    figures = "\n".join(_photograph(picture, links=links) for picture in page.pictures)
    return f'<div {anchor} class="pictures">\n{figures}\n</div>'


def _photograph(picture: Picture, *, links: bool) -> str:
    caption = f"<figcaption>{_sentences(picture.caption, links)}</figcaption>"
    if picture.data is None:
        missing = _runs(picture.missing, links=links)
        return f'<figure><p class="missing">{missing}</p>{caption}</figure>'
    data = base64.b64encode(picture.data).decode()
    return (
        f'<figure><img src="data:image/jpeg;base64,{data}" width="{picture.width_px}" '
        f'height="{picture.height_px}" alt="{_attribute(picture.alternative)}">{caption}</figure>'
    )


def _sentences(sentences: tuple[Sentence, ...], links: bool) -> str:
    return " ".join(filter(None, (_runs(sentence, links=links) for sentence in sentences)))


def _runs(runs: Sentence, *, links: bool) -> str:
    return "".join(_run(run, links=links) for run in runs)


def _run(run: Run, *, links: bool) -> str:
    markup = (
        f"<u>{_RULED_LINE if run.path else _RULED_BY_HAND}</u>"
        if run.blank
        else escape(bound(printable(run.text)), quote=False).replace("\n", "<br>")
    )
    if run.bold:
        markup = f"<strong>{markup}</strong>"
    if run.italic:
        markup = f"<em>{markup}</em>"
    if run.path is None:
        return markup
    path = _attribute(run.path)
    if links:
        return f'<a class="field" href="field:{path}">{markup}</a>'
    return f'<span data-field="{path}">{markup}</span>'


def _attribute(text: str) -> str:
    return escape(printable(text), quote=True)


def _css_string(text: str) -> str:
    # Every other character is written by its number, so that nothing can end the string or the
    # style element.
    return '"' + re.sub(r"[^A-Za-z0-9 .,:-]", lambda found: f"\\{ord(found[0]):x} ", text) + '"'
