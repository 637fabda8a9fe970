"""How every ticket stands, reckoned for lists."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0009_response_papers"),
    ]

    operations = []
