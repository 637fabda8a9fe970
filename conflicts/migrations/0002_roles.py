"""What each role may do with bores; figures are computed, so nobody writes them."""

from django.db import migrations

from locates import roles

MAY_WRITE = {roles.COORDINATOR: ("bore", "pit")}


def grant(apps, schema_editor):
    """Let the roles see bores, and the coordinator plan them."""
    roles.grant(apps, schema_editor, "conflicts", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take that away again."""
    roles.take_back(apps, schema_editor, "conflicts")


class Migration(migrations.Migration):

    dependencies = [
        ("conflicts", "0001_bores_and_crossings"),
        ("locates", "0004_roles"),
    ]

    operations = [migrations.RunPython(grant, take_back)]
