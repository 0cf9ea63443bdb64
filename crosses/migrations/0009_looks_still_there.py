from django.db import migrations, models

KINDS = [
    ("nothing_yet", "nothing yet"),
    ("corolla_faded", "corolla faded"),
    ("still_there", "still there"),
    ("swelling", "ovary swelling"),
    ("colouring", "colouring"),
    ("split", "split, seed still there"),
    ("shed", "split, seed gone"),
    ("aborted", "aborted"),
    ("eaten", "eaten"),
]


class Migration(migrations.Migration):
    dependencies = [("crosses", "0008_sent_forms")]

    operations = [
        migrations.AlterField(
            "check", "kind", models.CharField(choices=KINDS, max_length=14)
        ),
        migrations.AlterField(
            "historicalcheck", "kind", models.CharField(choices=KINDS, max_length=14)
        ),
        # Altering a constraint leaves the database as it was.
        migrations.RemoveConstraint("check", "check_kind_known"),
        migrations.AddConstraint(
            "check",
            models.CheckConstraint(
                condition=models.Q(kind__in=[kind for kind, _words in KINDS]),
                name="check_kind_known",
                violation_error_message="Choose one of the answers that are offered.",
            ),
        ),
    ]
