"""The three roles, and what each may do with the records of this app."""

from django.db import migrations

from locates import roles

MAY_WRITE = {
    roles.COORDINATOR: (
        "job",
        "facilityoperator",
        "clearancerequirement",
        "ticket",
        "response",
        "mark",
        "testhole",
        "surfacefeature",
        "groundpoint",
        "linework",
    ),
    roles.FOREMAN: ("mark", "testhole", "surfacefeature"),
    roles.SAFETY_MANAGER: ("organisation", "jurisdictionrule", "facilityoperator", "clearancerequirement"),
}


def grant(apps, schema_editor):
    """Make the roles."""
    roles.grant(apps, schema_editor, "locates", MAY_WRITE)


def take_back(apps, schema_editor):
    """Take the roles away again."""
    roles.take_back(apps, schema_editor, "locates")


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0003_one_job"),
        ("auth", "0012_alter_user_first_name_max_length"),
        ("contenttypes", "0002_remove_content_type_name"),
    ]

    operations = [migrations.RunPython(grant, take_back)]
