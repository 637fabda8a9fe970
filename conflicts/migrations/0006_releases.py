"""releases."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("conflicts", "0005_daily_walks"), ("locates", "0019_checks_never_waived"))
    operations = ()
