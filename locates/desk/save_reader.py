"""Save a reader of confirmations, unless somebody else has saved it meanwhile."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.errors import ChangedMeanwhileError
from locates.models import TextReader


def save_reader(reader: TextReader, *, by: AbstractBaseUser, opened_version: int) -> None:
    """Save a reader, new or opened at a version.

    Raises
    ------
    ChangedMeanwhileError
        Somebody saved it since; it carries the reader as it is now.
    """
    with transaction.atomic():
        if not reader._state.adding:
            present = TextReader.objects.select_for_update().get(pk=reader.pk)
            if present.version != opened_version:
                raise ChangedMeanwhileError(present)
            reader.version = present.version + 1
        reader.edited_by = by
        reader.save()
