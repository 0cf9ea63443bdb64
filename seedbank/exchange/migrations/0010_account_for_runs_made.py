from dataclasses import asdict

from django.db import migrations

from seedbank.calc.allocation import common_part, measure, own_parts, read_inputs, read_result


def account_for_runs_made_already(apps, schema_editor):
    """Reckon from the stored bytes, never anew: an engine may have changed since."""
    runs = apps.get_model("exchange", "AllocationRun").objects.order_by("pk")
    run_accounts = apps.get_model("exchange", "RunAccount").objects
    member_accounts = apps.get_model("exchange", "MemberAccount")
    for run in runs.iterator(chunk_size=1):
        inputs, result = read_inputs(run.inputs.encode()), read_result(run.result.encode())
        run_accounts.create(
            run=run, measures=asdict(measure(inputs, result)), common=common_part(inputs, result)
        )
        member_accounts.objects.bulk_create(
            [
                member_accounts(run=run, member_number=number, own=own)
                for number, own in own_parts(inputs, result)
            ],
            batch_size=500,
        )


class Migration(migrations.Migration):
    dependencies = [("exchange", "0009_accounts_of_runs")]

    operations = [
        migrations.RunPython(account_for_runs_made_already, migrations.RunPython.noop),
    ]
