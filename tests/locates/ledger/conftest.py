"""A chain of signed walks, and plain SQL behind the application's back."""

import pytest
from django.db import connection

from tests.rewriting import rewriting_allowed
from tests.signed_walks import sign_walks


@pytest.fixture
def chain(db):
    """Six entries and their walks."""
    return sign_walks(6)


@pytest.fixture
def in_sql():
    """Run statements as the owner of the tables would who wants to hide something."""

    def run(*statements):
        with rewriting_allowed(), connection.cursor() as cursor:
            for statement, *values in statements:
                cursor.execute(statement, values)

    return run
