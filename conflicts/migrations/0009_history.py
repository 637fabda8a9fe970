"""history."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("conflicts", "0008_clearance_records"), ("locates", "0020_history"))
    operations = ()
