"""What people follow and were told."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0010_ticket_standing"),
    ]

    operations = []
