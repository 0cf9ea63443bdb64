from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("crosses", "0007_row_version"),
    ]

    operations = [
        migrations.CreateModel(
            name='SentForm',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('address', models.CharField(blank=True, max_length=1000)),
                ('at', models.DateTimeField(db_index=True)),
            ],
            options={
                'ordering': ['id'],
            },
        ),
    ]
