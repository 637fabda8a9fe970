"""history."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("locates", "0019_checks_never_waived"),)
    operations = ()
