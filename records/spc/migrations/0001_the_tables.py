import django.db.models.deletion
import records.ledger.patterns
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('catalogue', '0001_the_tables'),
        ('inspection', '0001_the_tables'),
        ('ledger', '0002_the_tables'),
    ]

    operations = [
        migrations.CreateModel(
            name='Baseline',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('from_at', models.DateTimeField()),
                ('to_at', models.DateTimeField()),
                ('n', models.IntegerField()),
                ('centre_milli', models.BigIntegerField()),
                ('mean_range_milli', models.BigIntegerField()),
                ('characteristic', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='baselines', to='catalogue.characteristic')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ChartBreak',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('characteristic', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='breaks', to='catalogue.characteristic')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='SignalAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('rule', models.CharField(max_length=40)),
                ('cause_found', models.BooleanField()),
                ('removed', models.BooleanField()),
                ('characteristic', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='answers', to='catalogue.characteristic')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('measurement', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='answers', to='inspection.measurement')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='BaselinePoint',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('n', models.IntegerField()),
                ('baseline', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='points', to='spc.baseline')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('measurement', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inspection.measurement')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('baseline', 'n'), name='baseline_point_once')],
            },
        ),
    ]
