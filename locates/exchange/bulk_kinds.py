"""Tickets and responses as rows of a table: what each column holds, and what files call it."""

from collections.abc import Mapping as Map
from dataclasses import dataclass
from typing import Any, Literal

from django.db.models import Model

from locates.exchange.vector_kinds import field_of_header
from locates.exchange.vector_mapping import COLUMN, Mapping, Source
from locates.exchange.vector_table import Table
from locates.models import ImportKind, Response, ResponseKind, Ticket, TicketKind

CellType = Literal["text", "choice", "flag", "length", "moment", "operator", "operators", "area"]

REASON = "override_reason"
ACCEPTED = {
    "text": "text",
    "choice": "one of the words beside it",
    "flag": "yes or no; empty where nobody said",
    "length": "a length with its unit, such as 6 ft, or numbers in a unit that you choose",
    "moment": "a day and a time, such as 2026-11-06 14:30; the order of the numbers is yours to choose",
    "operator": "the name of an operator of the job",
    "operators": "names of operators of the job, a semicolon between two",
    "area": (
        "corners, such as 38.0301 -78.4803; 38.0301 -78.4790; 38.0292 -78.4790, latitude first, two "
        "semicolons before another area; or well-known text, POLYGON or MULTIPOLYGON"
    ),
}


@dataclass(frozen=True)
class BulkField:
    """One column.

    Parameters
    ----------
    name : str
        Of the record's field.
    label : str
        Heading of the column in the empty file, and its name for people.
    type : str
        How its text is read.
    hints : tuple of str
        What other files call it, in small letters with ``_`` between words.
    is_required : bool
        Whether every row has it.
    choices : mapping of str to str
        Words that are stored to words that people write.
    longest : int or None
        How many characters are kept.
    """

    name: str
    label: str
    type: CellType
    hints: tuple[str, ...] = ()
    is_required: bool = False
    choices: Map[str, str] | None = None
    longest: int | None = None

    @property
    def short(self) -> str:
        """The heading as `field_of_header` compares it."""
        return self.label.replace(" ", "_")

    @property
    def accepted(self) -> str:
        """What a cell may hold, in words."""
        words = ", ".join(self.choices.values()) if self.choices else ACCEPTED[self.type]
        return f"{words}{_BESIDES.get(self.name, '')}"


@dataclass(frozen=True)
class BulkKind:
    """A kind of record that comes in rows."""

    name: str
    singular: str
    plural: str
    model: type[Model]
    fields: tuple[BulkField, ...]

    @property
    def headings(self) -> list[str]:
        """The header of an empty file."""
        return [one.label for one in self.fields]

    def label(self, name: str) -> str:
        """The words for a field."""
        return next(one.label for one in self.fields if one.name == name)


def guessed_columns(table: Table, kind: BulkKind) -> Mapping:
    """First proposal: by the names of the columns. A unit or an order of dates is never proposed."""
    sources: dict[str, Source] = {}
    for column in table.columns:
        found = field_of_header(kind, column)
        if found is not None and found.name not in sources:
            sources[found.name] = Source(COLUMN, column)
    return Mapping(layer=table.name, sources=sources)


def column_named(mapping: Mapping, kind: BulkKind, name: str) -> str:
    """The column that a field comes from, as the file names it; else the words for the field."""
    source = mapping.source(name)
    return source.text if source.how == COLUMN else kind.label(name)


def _kind(
    name: str, singular: str, plural: str, model: type[Model], *columns: tuple[str, str, CellType, str]
) -> BulkKind:
    return BulkKind(name, singular, plural, model, tuple(_field(model, *column) for column in columns))


def _field(model: type[Model], name: str, label: str, type_: CellType, hints: str) -> BulkField:
    """A column; one whose label ends in a star is needed in every row."""
    longest: Any = None
    if type_ == "text" and name != _TICKET_NUMBER:
        longest = model._meta.get_field(name).max_length
    return BulkField(
        name=name,
        label=label.removesuffix("*"),
        type=type_,
        hints=tuple(hints.split()),
        is_required=label.endswith("*"),
        choices=_CHOICES.get(name),
        longest=longest,
    )


_TICKET_NUMBER = "ticket_number"
_BESIDES = {
    REASON: "; needed where a date differs from the one that the rule gives",
    "responded_at": "; empty only where the operator is awaited",
}
_CHOICES = {"ticket_kind": dict(TicketKind.choices), "response": dict(ResponseKind.choices)}

BULK_KINDS = {
    kind.name: kind
    for kind in (
        _kind(
            ImportKind.TICKET, "ticket", "tickets", Ticket,
            ("number", "number*", "text", "ticket_number ticket_no no ticket"),
            ("ticket_kind", "kind*", "choice", "ticket_type type"),
            ("called_by", "called by", "text", "caller"),
            ("called_at", "called at*", "moment", "called called_in called_in_at"),
            ("wanted_start_at", "wanted start", "moment", "start_wanted"),
            ("legal_start_at", "legal start", "moment", "legal_start_date"),
            ("expires_at", "expiry", "moment", "expires expiration expiry_date"),
            ("response_due_at", "response due", "moment", "answers_due due"),
            ("renew_by", "renew by", "moment", "renewal_due"),
            ("latest_start_at", "latest start", "moment", "begin_by must_begin_by"),
            (REASON, "reason for other dates", "text", "reason override_reason"),
            ("white_lined", "white lined", "flag", "white_lining"),
            ("boring_declared", "boring declared", "flag", "boring trenchless"),
            ("stated_depth_m", "depth", "length", "depth_stated stated_depth"),
            ("stated_method", "method", "text", "method_stated"),
            ("previous_number", "previous number", "text", "previous_ticket renews"),
            ("operators", "operators", "operators", "operators_notified notified members"),
            ("area", "work area*", "area", "area geometry wkt shape corners"),
        ),
        _kind(
            ImportKind.RESPONSE, "response", "responses", Response,
            (_TICKET_NUMBER, "ticket number*", "text", "number ticket ticket_no no"),
            ("operator", "operator*", "operator", "facility_operator owner"),
            ("response", "answer*", "choice", "status"),
            ("responded_at", "time", "moment", "answered answered_at"),
            ("answered_by", "answered by", "text", "by who"),
            ("note", "note", "text", "notes remark remarks comment"),
        ),
    )
}  # fmt: skip
