from __future__ import annotations

from html.parser import HTMLParser

from evenglide.show.numbers import NO_BREAK
from evenglide.show.table import Table, html_table, text_block, text_table

TABLE = Table(
    caption="How far it went",
    columns=("surface", "distance"),
    rows=(("wet snow", f"6.4{NO_BREAK}m"), ("<b>ice</b> & slush", f"12.9{NO_BREAK}m")),
    align=("left", "right"),
)


def test_text_table_aligns_numbers_to_the_right() -> None:
    assert text_table(TABLE).split("\n") == [
        "How far it went",
        "surface              distance",
        f"wet snow                6.4{NO_BREAK}m",
        f"<b>ice</b> & slush     12.9{NO_BREAK}m",
    ]


class Tags(HTMLParser):
    """Collects tags with their attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))


def test_html_table_has_caption_scopes_and_no_tag_of_the_user() -> None:
    written = html_table(TABLE)
    tags = Tags()
    tags.feed(written)
    heads = [attributes.get("scope") for tag, attributes in tags.seen if tag == "th"]
    assert heads == ["col", "col", "row", "row"]
    assert [tag for tag, _ in tags.seen if tag in ("caption", "b")] == ["caption"]
    assert "&lt;b&gt;ice&lt;/b&gt; &amp; slush" in written
    assert 'class="for-readers"' in html_table(TABLE, caption_hidden=True)


def test_block_folds_but_keeps_number_and_unit_together() -> None:
    block = text_block([("wet snow", f"goes farther by 12{NO_BREAK}% or so"), ("", "more")], width=40)
    lines = block.split("\n")
    assert all(len(line) <= 40 for line in lines)
    assert f"12{NO_BREAK}%" in block
    assert lines[0].startswith("wet snow   goes")
    assert lines[-1] == "           more"


def test_block_gives_a_long_name_a_line_of_its_own() -> None:
    lines = text_block([("a name of thirty characters, ok", "text"), ("ice", "more")], width=60).split("\n")
    assert lines[0] == "a name of thirty characters, ok"
    assert lines[1].strip() == "text"
    assert lines[2].split() == ["ice", "more"]
