"""Names are text, whatever they hold: no tag, no rule and no end of a string comes of them."""

from __future__ import annotations

from html.parser import HTMLParser

import tinycss2
from hypothesis import given
from hypothesis import strategies as st

from host_tools.papers.html import PAPERS, Imprint, page
from host_tools.papers.sheet import Cautions, Figure, Figures, Notes, Sheet
from host_tools.papers.table import Column, Look, Row, Table

HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style><b>bold</b>",
    "</title></svg>",
    '"} @page { size: 1mm } x { content: "',
    "{{ 7 * 7 }}{% raw %}",
    "\\a \\22 ; \\",
    "&amp; &lt;",
    "red's <green>",
)
ANY = st.one_of(
    st.sampled_from(HOSTILE),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc"]), min_size=1, max_size=40),
)
VOID = {"meta", "col", "br"}
CELLS = {"td", "li", "figcaption", "p"}


class Seen(HTMLParser):
    """Every tag, attribute and text of a page; tags must nest."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.cells: list[str] = []
        self.open: list[str] = []
        self.style = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag not in VOID:
            self.open.append(tag)
        if tag in CELLS:
            self.cells.append("")
        if tag == "br":
            self.cells[-1] += "\n"

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] == "style":
            self.style += data
        elif CELLS & set(self.open):
            self.cells[-1] += data


def made(text: str) -> str:
    table = Table(
        "t",
        text,
        (Column(text, 1), Column("Name", 1, Look.NAME)),
        (Row("a", (text, text)),),
        note=text,
    )
    figures = Figures("f", text, (Figure(text, text, "<svg></svg>"),), note=text)
    blocks = (table, figures, Cautions((text,)), Notes((text,)))
    return page([Sheet("s", text, blocks)], Imprint(text, text, text, text, text), PAPERS["a4"])


@given(ANY)
def test_a_name_is_text_and_nothing_else(text: str) -> None:
    plain, seen = Seen(), Seen()
    plain.feed(made("plain"))
    seen.feed(made(text))
    assert seen.tags - {"span"} == plain.tags - {"span"}
    assert not {name for name in seen.attributes if name.startswith("on")}
    assert seen.open == plain.open == []
    assert seen.cells.count(text) >= 5


@given(ANY)
def test_the_title_block_says_it_as_it_is(text: str) -> None:
    seen = Seen()
    seen.feed(made(text))
    rules = tinycss2.parse_stylesheet(seen.style, skip_whitespace=True, skip_comments=True)
    assert not [rule for rule in rules if rule.type == "error"]
    pages = [rule for rule in rules if rule.type == "at-rule" and rule.at_keyword == "page"]
    assert len(pages) == 2
    strings: list[str] = []
    for token in pages[1].content:
        if token.type == "{} block":
            strings += [one.value for one in token.content if one.type == "string"]
    assert f"{text}\n{text}, {text}" in strings
    assert f"plan {text}" in strings
    assert any(one.startswith(f"{text}\nsheet 1 of 1") for one in strings)


def test_a_colour_word_is_shown_and_said() -> None:
    seen = Seen()
    text = made("the red key")
    seen.feed(text)
    assert 'class="swatch" style="background: #c8102e"' in text
    assert "the red key" in seen.cells


def test_no_colour_word_no_patch() -> None:
    assert "swatch" not in made("bored").split("</style>")[1]
