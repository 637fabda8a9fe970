"""ledger."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("locates", "0015_centre_days"),)
    operations = ()
