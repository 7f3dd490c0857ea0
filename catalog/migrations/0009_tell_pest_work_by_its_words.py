import re

from django.db import migrations

# Work that was noted before there was a mark for it is told by its words, as new work is too.
WORDS = re.compile(
    r"\b(freez(e|ing|er)|anoxi[ac]|nitrogen|fumiga(te|ted|tion|nt)|pests?|insecticide|disinfest(ation|ing)?|"
    r"deep.cold|low.oxygen|carbon.dioxide|against (moths?|woodworm|beetles?|insects|mould))\b",
    re.IGNORECASE,
)


def mark(apps, schema_editor):
    treatments = apps.get_model("catalog", "Treatment").objects.using(schema_editor.connection.alias)
    telling = [pk for pk, what in treatments.values_list("pk", "what") if WORDS.search(what)]
    for start in range(0, len(telling), 500):
        treatments.filter(pk__in=telling[start : start + 500]).update(against_pests=True)


class Migration(migrations.Migration):
    dependencies = [
        ("catalog", "0008_mark_work_against_pests"),
    ]

    operations = [
        migrations.RunPython(mark, migrations.RunPython.noop),
    ]
