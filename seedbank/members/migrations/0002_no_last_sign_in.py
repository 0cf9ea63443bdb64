from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("members", "0001_records")]

    operations = [migrations.RemoveField(model_name="member", name="last_login")]
