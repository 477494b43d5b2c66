import django.db.models.deletion
import records.ledger.patterns
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0001_the_tables'),
        ('people', '__first__'),
    ]

    operations = [
        migrations.AddField(
            model_name='entry',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='flag',
            name='entry',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry'),
        ),
        migrations.AddField(
            model_name='leaf',
            name='entry',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='leaf', to='ledger.entry'),
        ),
        migrations.AddConstraint(
            model_name='node',
            constraint=models.UniqueConstraint(fields=('level', 'index'), name='node_once'),
        ),
        migrations.AddField(
            model_name='unplaced',
            name='entry',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry'),
        ),
        migrations.AddField(
            model_name='unplacedsettled',
            name='entry',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry'),
        ),
        migrations.AddField(
            model_name='unplacedsettled',
            name='reason',
            field=records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords'),
        ),
        migrations.AddField(
            model_name='unplacedsettled',
            name='unplaced',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='settled', to='ledger.unplaced'),
        ),
        migrations.AddField(
            model_name='wordserased',
            name='entry',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry'),
        ),
        migrations.AddField(
            model_name='wordserased',
            name='words',
            field=records.ledger.patterns.WordsField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords'),
        ),
        migrations.AddConstraint(
            model_name='entry',
            constraint=models.UniqueConstraint(fields=('key',), name='entry_key_once'),
        ),
        migrations.AddConstraint(
            model_name='unplaced',
            constraint=models.UniqueConstraint(fields=('said_key', 'fingerprint'), name='unplaced_once'),
        ),
        migrations.AddConstraint(
            model_name='wordserased',
            constraint=models.UniqueConstraint(fields=('words',), name='words_erased_once', violation_error_message='These words were erased before.'),
        ),
    ]
