"""membership."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("locates", "0017_photos"),)
    operations = ()
