"""photos."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("locates", "0016_ledger"),)
    operations = ()
