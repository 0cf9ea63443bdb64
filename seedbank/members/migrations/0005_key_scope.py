from django.db import migrations, models


def carry_over(apps, schema_editor):
    """A key that might write logged what a grower logs, and does so still."""
    tokens = apps.get_model("members", "ApiToken").objects
    tokens.filter(may_write=True).update(scope="log")


def carry_back(apps, schema_editor):
    tokens = apps.get_model("members", "ApiToken").objects
    tokens.exclude(scope="read").update(may_write=True)


class Migration(migrations.Migration):

    dependencies = [("members", "0004_unsent_mail")]

    operations = [
        migrations.AddField(
            model_name="apitoken",
            name="scope",
            field=models.CharField(
                choices=[
                    ("read", "read"),
                    ("log", "read, and write what a grower logs and wishes"),
                    ("keep", "all of that, and what a seed keeper does"),
                ],
                default="read",
                max_length=4,
                verbose_name="may",
            ),
        ),
        migrations.RunPython(carry_over, carry_back),
        migrations.RemoveField(model_name="apitoken", name="may_write"),
        migrations.AddConstraint(
            model_name="apitoken",
            constraint=models.CheckConstraint(
                condition=models.Q(scope__in=["read", "log", "keep"]), name="key_scope_known"
            ),
        ),
    ]
