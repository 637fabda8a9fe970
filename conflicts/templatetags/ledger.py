"""Entries of the ledger, as pages show them."""

from json import dumps, loads

from django import template

from locates.errors import UnknownKindError
from locates.models.photo import PLACE
from locates.signed_kinds import signed_kind

register = template.Library()

KEPT_BACK = "kept with the original, which your role does not open"


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


@register.filter
def content_without_place(content: str) -> str:
    """The same of a photo, for who may not open the original: with words where its place stands."""
    try:
        members = loads(content)
    except ValueError:
        return content
    if isinstance(members, dict):
        members |= {name: KEPT_BACK for name in PLACE if members.get(name)}
    return dumps(members, indent=1, ensure_ascii=False)
