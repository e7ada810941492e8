"""What a browser and the preview show."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from opnote.compose.document import Document, Paragraph, Run
from opnote.compose.html import html_from

VOID = {"meta", "br", "img"}
QT_TAGS = {
    "a", "br", "em", "h1", "h2", "h3", "h4", "img", "li", "ol", "p", "small", "span", "strong",
    "table", "tbody", "td", "th", "thead", "tr", "u", "ul",
}  # fmt: skip


class Page(HTMLParser):
    """Reads a page as a browser does, and knows whether each element is closed in its place."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self._open: list[str] = []
        self.feed(markup)
        self.close()
        assert not self._open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self._open and "svg" not in self._open:
            self.text += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.mark.parametrize("name", ["note", "draft", "risk_sheet", "hostile_note"])
def test_sentences_stand_in_the_order_of_the_document(
    name: str, request: pytest.FixtureRequest, says_in_order: Callable[[str, Document], None]
) -> None:
    document = request.getfixturevalue(name)
    says_in_order(Page(html_from(document)).text, document)


def test_page_needs_nothing_from_elsewhere(note: Document) -> None:
    markup = html_from(note)
    page = Page(markup)
    assert not re.search(r"(src|href)=|url\(|@import", markup)
    assert page.all("html") == [{"lang": "en-GB"}]
    assert {"charset": "utf-8"} in page.all("meta")
    assert note.title in page.text


def test_every_printed_page_of_a_draft_says_preliminary(draft: Document, note: Document) -> None:
    markup = html_from(draft)
    assert {"class": "every-page", "aria-hidden": "true"} in Page(markup).all("div")
    assert re.search(r"\.every-page \{[^}]*position: fixed", markup)
    assert "PRELIMINARY" not in html_from(note)


def test_header_cells_say_what_they_head(note: Document) -> None:
    scopes = [cell["scope"] for cell in Page(html_from(note)).all("th")]
    assert scopes.count("col") == 6
    assert scopes.count("row") == 9


def test_drawing_is_inline_and_has_its_words(note: Document) -> None:
    page = Page(html_from(note))
    (drawing,) = [div for div in page.all("div") if div.get("role") == "img"]
    assert "38 mm long" in (drawing["aria-label"] or "")
    assert len(page.all("svg")) == len(page.all("figcaption")) == 1


def test_links_lead_to_the_field_of_each_value(note: Document) -> None:
    links = [link["href"] for link in Page(html_from(note, links=True)).all("a")]
    paths = [f"field:{run.path}" for sentence in note.sentences() for run in sentence if run.path]
    assert links[3:] == paths
    assert not Page(html_from(note)).all("a")
    assert {"data-field": "tears.r1.length_mm"} in Page(html_from(note)).all("span")


def test_ruled_line_leads_to_its_field(note: Document) -> None:
    paragraph = Paragraph("p", ((Run("", path="tourniquet.minutes", blank=True),),))
    markup = html_from(replace(note, blocks=(paragraph,), subject=()), links=True)
    assert re.search(
        r'<a class="field" href="field:tourniquet.minutes"><u>(&nbsp;)+</u></a>', markup
    )


def test_typed_text_is_never_markup(hostile_note: Document, hostile_text: str) -> None:
    page = Page(html_from(hostile_note, links=True))
    assert hostile_text in page.text
    assert not page.all("script")
    assert not page.all("b")
    assert not any("onclick" in attributes for _, attributes in page.tags)


def test_new_lines_and_quotes_in_paths_are_kept(note: Document) -> None:
    run = Run("one\r\ntwo", path='a"b<c')
    only = replace(note, blocks=(Paragraph("p", ((run,),)),), subject=())
    markup = html_from(only, links=True)
    assert Page(markup).all("a") == [{"class": "field", "href": 'field:a"b<c'}]
    assert "one<br>two" in markup


def test_caution_is_framed(note: Document) -> None:
    (caution,) = (block for block in note.blocks if block.id == "caution")
    page = Page(html_from(replace(note, blocks=(caution,))))
    assert page.all("table")[0]["border"] == "1"


def test_patient_reads_larger_letters(note: Document) -> None:
    def size(document: Document) -> float:
        found = re.search(r"font: ([0-9.]+)pt", html_from(document))
        assert found
        return float(found[1])

    assert size(replace(note, kind="recovery_plan")) > size(note)
