"""clearance_records."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("conflicts", "0007_watches"), ("locates", "0019_checks_never_waived"))
    operations = ()
