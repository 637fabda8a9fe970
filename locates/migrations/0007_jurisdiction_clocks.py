"""The clocks of the jurisdictions' rules."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0006_vector_imports"),
    ]

    operations = []
