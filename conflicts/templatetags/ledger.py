"""Entries of the ledger, as pages show them."""

from json import dumps, loads

from django import template

from locates.errors import UnknownKindError
from locates.signed_kinds import signed_kind

register = template.Library()


@register.filter
def kind_words(kind: str) -> str:
    """What a kind of signed record is called."""
    try:
        return str(signed_kind(kind).model._meta.verbose_name)
    except UnknownKindError:
        return kind


@register.filter
def content_lines(content: str) -> str:
    """An entry's content with a member a line, for reading; as it stands where it is no JSON."""
    try:
        return dumps(loads(content), indent=1, ensure_ascii=False)
    except ValueError:
        return content
