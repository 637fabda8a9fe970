"""Files of tickets and responses on their way in."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0012_ticket_intake"),
    ]

    operations = []
