"""checks_never_waived."""

from django.db import migrations


class Migration(migrations.Migration):
    """Nothing yet."""

    dependencies = (("locates", "0018_membership"),)
    operations = ()
