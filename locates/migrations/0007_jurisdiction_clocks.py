"""The clocks of the jurisdictions' rules: how each law counts the dates of a ticket.

A clock goes with the texts that it was read from. So it is given to every version of a rule whose notice, life and
renewal stand as the shipped table has them, and that is the first one, and any later one made for another column. A
version with other texts is another reading: it keeps an empty clock, and the desk asks for its dates. A later reading
of a law is a new version in a migration of its own.
"""

import json
from pathlib import Path

from django.db import migrations, models

from locates.one_call import rules

TABLE = Path(rules.__file__).with_name("rules.csv")
CLOCKS = Path(rules.__file__).with_name("clocks.json")
READ_FROM = (
    "notice_value",
    "notice_unit",
    "notice_count_rule",
    "ticket_life_value",
    "ticket_life_unit",
    "life_counted_from",
    "renewal_rule",
)


def seed(apps, schema_editor):
    """Give the shipped clocks to the rules that say what they were read from."""
    jurisdiction_rules = apps.get_model("locates", "JurisdictionRule").objects.using(schema_editor.connection.alias)
    clocks = json.loads(CLOCKS.read_text(encoding="utf-8"))
    with TABLE.open(newline="", encoding="utf-8") as table:
        for rule in rules.read_rules(table):
            texts = {column: getattr(rule, column) for column in READ_FROM}
            jurisdiction_rules.filter(code=rule.code, clock={}, **texts).update(clock=clocks[rule.code])


class Migration(migrations.Migration):

    dependencies = [
        ("locates", "0006_vector_imports"),
    ]

    operations = [
        migrations.AddField(
            model_name="jurisdictionrule",
            name="clock",
            field=models.JSONField(
                blank=True,
                default=dict,
                help_text="How the law counts the dates of a ticket, in the JSON that locates/one_call/clock_reader.py describes; an empty object where it was not read, and then the desk asks for every date.",
            ),
        ),
        # The clocks go with the column.
        migrations.RunPython(seed, migrations.RunPython.noop),
    ]
