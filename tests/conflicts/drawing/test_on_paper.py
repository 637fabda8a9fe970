"""A picture for paper carries the styles that it uses, and only those."""

import re

from conflicts.drawing.on_paper import STYLE, on_paper


def styled(*classes: str) -> str:
    """The styles of a picture with one element for each of some lists of classes."""
    elements = "".join(f'<path class="{one}"/>' for one in classes)
    return re.search(r"<style>(.*)</style>", on_paper(f"<svg >{elements}</svg>"))[1]


def test_a_rule_for_classes_within_classes_is_there_where_both_are():
    assert ".paint-gas_oil_steam .body" in styled("paint-gas_oil_steam", "body")
    assert ".paint-gas_oil_steam .body" not in styled("paint-gas_oil_steam", "hole")


def test_what_holds_for_any_text_is_always_there_and_what_nobody_uses_is_not():
    assert styled().startswith("text{")
    assert ".north" not in styled("body")


def test_a_picture_with_every_class_has_every_rule_in_its_order():
    classes = sorted(set(re.findall(r"\.([a-z][a-z_-]*)", STYLE)))
    assert styled(*classes) == STYLE
