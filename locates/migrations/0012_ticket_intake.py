"""Patterns that read a confirmation's text."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0011_notices"),
    ]

    operations = []
