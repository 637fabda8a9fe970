"""Signing as a page does it: the database is told who is logged in and where."""

from contextlib import AbstractContextManager

from django.contrib.auth.models import AbstractBaseUser

from locates.acting import acting


def signing(person: AbstractBaseUser) -> AbstractContextManager[None]:
    """Have what is stored inside recorded as this person's, from a page."""
    return acting("page /signing/", person)
