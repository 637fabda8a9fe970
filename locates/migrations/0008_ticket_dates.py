"""Dates of a ticket with their working, and who called it in."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0007_jurisdiction_clocks"),
    ]

    operations = []
