"""Which kinds of record are signed, and how the ledger reads them.

A package that keeps signed records registers their models when it starts, as with `locates.changes`; so the
ledger proves records of packages that it does not know.
"""

from collections.abc import Callable, Collection
from typing import Any, ClassVar, NamedTuple, Protocol
from uuid import UUID

from django.db import models

from locates.errors import UnknownKindError


class Signed(Protocol):
    """What the model of a signed record has: once stored, a record of it is never changed."""

    LEDGER_KIND: ClassVar[str]
    pk: UUID

    @property
    def signer_id(self) -> Any:
        """Id of the login of whoever signed it."""

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""

    def ledger_content(self) -> dict[str, Any]:
        """All that the signature stands for, as JSON values; moments by `locates.canonical.utc_text`.

        Of the record's own columns and of parts that never change, and nothing that a later save may alter.
        """


RowsOf = Callable[[Collection[UUID]], models.QuerySet]


class SignedKind(NamedTuple):
    """A kind's model, and the rows of given ids with all that their content and job need."""

    model: type[models.Model]
    rows_of: RowsOf


_known: dict[str, SignedKind] = {}
_commands: set[str] = set()


def register_signed(model: type[models.Model], rows_of: RowsOf | None = None) -> None:
    """Register the model of a kind; twice is once.

    ``rows_of`` reads what `ledger_content` and `home_job_id` need in a fixed number of queries, and leaves
    large bytes in the database; without it rows are read plainly.
    """

    def plainly(ids: Collection[UUID]) -> models.QuerySet:
        return model._base_manager.filter(pk__in=ids)

    _known[model.LEDGER_KIND] = SignedKind(model, rows_of or plainly)


def signed_kind(kind: str) -> SignedKind:
    """Model and rows of a kind; `UnknownKindError` where nobody registered it."""
    if kind not in _known:
        raise UnknownKindError(kind, sorted(_known))
    return _known[kind]


def signed_kinds() -> dict[str, SignedKind]:
    """Every kind by name, in the order of the names."""
    return dict(sorted(_known.items()))


def register_signing_command(name: str) -> None:
    """Register a command that makes signed records, as of invented jobs; all else is signed on pages."""
    _commands.add(f"command {name}")


def signing_commands() -> frozenset[str]:
    """What the record of changes calls these commands."""
    return frozenset(_commands)
