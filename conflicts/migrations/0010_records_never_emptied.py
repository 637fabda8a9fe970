"""What was handed over stays, also where somebody would empty the whole table of it."""

from django.db import migrations

STAYS = """
CREATE TRIGGER refuse_emptying BEFORE TRUNCATE ON conflicts_recordmaking FOR EACH STATEMENT
    EXECUTE FUNCTION locates_refuse_rewriting('a record that was made is never changed or taken away');
SELECT locates_harden('conflicts_recordmaking');
"""
GOES = "DROP TRIGGER refuse_emptying ON conflicts_recordmaking;"


class Migration(migrations.Migration):
    dependencies = (("conflicts", "0009_history"), ("locates", "0021_guards_always_stand"))

    operations = (migrations.RunSQL(STAYS, GOES),)
