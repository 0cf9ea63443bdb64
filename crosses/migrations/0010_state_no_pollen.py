from django.db import migrations, models

STATES = [
    ("waiting", "waiting"),
    ("taken", "taken"),
    ("failed", "did not take"),
    ("ripe", "ripe: harvest now"),
    ("harvested", "harvested"),
    ("lost", "lost"),
    ("no_pollen", "no pollen was found"),
]


def state_field():
    return models.CharField(choices=STATES, default="waiting", editable=False, max_length=10)


class Migration(migrations.Migration):
    dependencies = [("crosses", "0009_looks_still_there")]

    operations = [
        migrations.AlterField("pollination", "state", state_field()),
        migrations.AlterField("historicalpollination", "state", state_field()),
        # Altering a constraint leaves the database as it was.
        migrations.RemoveConstraint("pollination", "pollination_state_known"),
        migrations.AddConstraint(
            "pollination",
            models.CheckConstraint(
                condition=models.Q(state__in=[state for state, _words in STATES]),
                name="pollination_state_known",
                violation_error_message="Choose one of the answers that are offered.",
            ),
        ),
    ]
