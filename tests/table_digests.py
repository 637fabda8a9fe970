"""What all of the site's tables hold, so that a test can show that nothing was written."""

from django.db import connection

# Of Django and of the throttle; a login and a page's messages may be kept whoever looks.
NOT_THE_SITE_S = ("django_", "auth_", "axes_")


def digests_of_tables() -> dict[str, tuple[int, str | None]]:
    """Every row of every table of the site, as a count and a digest a table."""
    found = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if table.startswith(NOT_THE_SITE_S) or table == "spatial_ref_sys":
                continue
            name = connection.ops.quote_name(table)
            cursor.execute(
                f"SELECT count(*), md5(string_agg(one, '|' ORDER BY one))"  # noqa: S608 - a table's own name
                f" FROM (SELECT {name}::text AS one FROM {name}) AS rows"
            )
            found[table] = cursor.fetchone()
    return found
