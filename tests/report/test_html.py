"""Texts in HTML: escaped and made safe, and HTML as it is."""

import pytest

from closeout.report.html import Html, escape, fill, joined


def test_a_text_is_made_safe_and_escaped_and_html_is_left() -> None:
    item = fill("<li>{}</li>", "<b title=\"x\">'&'\x1b</b>")
    wanted = "<li>&lt;b title=&#34;x&#34;&gt;&#39;&amp;&#39;\\x1b&lt;/b&gt;</li>"
    assert item == wanted
    assert fill("<ul>{}{}</ul>", joined((item, item)), 3) == f"<ul>{wanted}{wanted}3</ul>"
    assert escape(item) is item


def test_a_text_put_together_is_no_html_any_more() -> None:
    assert not isinstance(Html("<b>") + "<i>", Html)
    assert fill("{}", Html("<b>") + "<i>") == "&lt;b&gt;&lt;i&gt;"


@pytest.mark.parametrize("values", [(), ("a", "b")])
def test_gaps_and_values_are_as_many(values: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match="values for the gaps"):
        fill("<p>{}</p>", *values)
