"""Papers that came with an operator's answer."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0008_ticket_dates"),
    ]

    operations = []
