from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("members", "0005_key_scope")]

    operations = [
        migrations.CreateModel(
            name="Tally",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=100, unique=True)),
                ("times", models.PositiveIntegerField()),
                ("ends_at", models.DateTimeField(db_index=True)),
            ],
            options={"verbose_name_plural": "tallies"},
        ),
    ]
