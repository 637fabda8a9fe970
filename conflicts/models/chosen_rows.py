"""Rows that a queryset chooses, put into a statement of its own as a set of ids."""

from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db.models import QuerySet

NOBODY = "SELECT NULL::uuid AS id WHERE false"


def chosen_sql(found: QuerySet[Any], name: str) -> tuple[str, dict[str, Any]]:
    """A select of the ids of some rows, and its parameters by names that begin with a word.

    Django writes parameters by position; by name they stand beside others in any order.
    """
    try:
        sql, values = found.order_by().values("id").query.sql_with_params()
    except EmptyResultSet:
        return NOBODY, {}
    named = {f"{name}_{place}": value for place, value in enumerate(values)}
    # A percent sign of the select itself stays doubled, for the statement is filled in once more.
    return sql.replace("%%", "%%%%") % tuple(f"%({key})s" for key in named), named
