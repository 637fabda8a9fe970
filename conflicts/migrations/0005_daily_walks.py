"""daily_walks."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("conflicts", "0004_retiring"), ("locates", "0019_checks_never_waived"))
    operations = ()
