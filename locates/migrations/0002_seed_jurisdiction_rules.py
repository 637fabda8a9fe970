"""Version 1 of every jurisdiction's rule, from the table that the program ships.

A later reading of a law is a new version in a migration of its own: jobs keep the version they stand under.
"""

from dataclasses import asdict
from pathlib import Path

from django.db import migrations

from locates.one_call import rules

TABLE = Path(rules.__file__).with_name("rules.csv")


def seed(apps, schema_editor):
    """Write the rules that are not there yet."""
    jurisdiction_rules = apps.get_model("locates", "JurisdictionRule").objects.using(schema_editor.connection.alias)
    with TABLE.open(newline="", encoding="utf-8") as table:
        for rule in rules.read_rules(table):
            values = asdict(rule)
            jurisdiction_rules.get_or_create(code=values.pop("code"), version=1, defaults=values)


class Migration(migrations.Migration):

    dependencies = [("locates", "0001_records")]

    # Rules that jobs stand under stay; the table goes with the first migration.
    operations = [migrations.RunPython(seed, migrations.RunPython.noop)]
