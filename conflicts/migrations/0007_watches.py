"""watches."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("conflicts", "0006_releases"), ("locates", "0019_checks_never_waived"))
    operations = ()
