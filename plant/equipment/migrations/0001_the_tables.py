import django.db.models.deletion
import django.db.models.functions.comparison
import records.ledger.patterns
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0002_the_tables'),
    ]

    operations = [
        migrations.CreateModel(
            name='Gauge',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=40, unique=True)),
                ('kind', models.CharField(blank=True, default='', max_length=20)),
                ('unit_kind', models.CharField(blank=True, default='', max_length=16)),
                ('due_on', models.DateField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Recorder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=40, unique=True)),
                ('kind', models.CharField(blank=True, default='', max_length=20)),
                ('zone', models.CharField(blank=True, default='', max_length=64)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Station',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=40, unique=True)),
                ('name', models.CharField(blank=True, default='', max_length=80)),
                ('kind', models.CharField(blank=True, default='', max_length=20)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Tool',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=40, unique=True)),
                ('kind', models.CharField(choices=[('mandrel', 'mandrel'), ('mould', 'mould'), ('insert-set', 'mould insert set'), ('bladder', 'bladder'), ('jig', 'jig'), ('cutter', 'cutter')], max_length=12)),
                ('cycles_allowed', models.IntegerField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Calibration',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('done_at', models.DateTimeField()),
                ('due_on', models.DateField(null=True)),
                ('result', models.CharField(choices=[('good', 'good'), ('out', 'out')], max_length=4)),
                ('unit_kind', models.CharField(blank=True, default='', max_length=16)),
                ('error', records.ledger.patterns.StepsField(null=True)),
                ('error_written', models.CharField(blank=True, default='', max_length=40)),
                ('left_error', records.ledger.patterns.StepsField(null=True)),
                ('resolution', records.ledger.patterns.StepsField(null=True)),
                ('expanded', records.ledger.patterns.StepsField(null=True)),
                ('smallest_load', records.ledger.patterns.StepsField(null=True)),
                ('certificate', models.CharField(blank=True, default='', max_length=80)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('remark', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
                ('gauge', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='calibrations', to='equipment.gauge')),
            ],
            options={
                'indexes': [models.Index(fields=['gauge', 'done_at'], name='calibration_of_gauge')],
                'constraints': [models.CheckConstraint(condition=models.Q(('error', django.db.models.functions.comparison.Cast(models.F('error'), models.BigIntegerField())), ('error__isnull', True), _connector='OR'), name='calibration_error_whole'), models.CheckConstraint(condition=models.Q(('resolution', django.db.models.functions.comparison.Cast(models.F('resolution'), models.BigIntegerField())), ('resolution__isnull', True), _connector='OR'), name='calibration_resolution_whole'), models.CheckConstraint(condition=models.Q(('expanded', django.db.models.functions.comparison.Cast(models.F('expanded'), models.BigIntegerField())), ('expanded__isnull', True), _connector='OR'), name='calibration_expanded_whole'), models.CheckConstraint(condition=models.Q(('smallest_load', django.db.models.functions.comparison.Cast(models.F('smallest_load'), models.BigIntegerField())), ('smallest_load__isnull', True), _connector='OR'), name='calibration_smallest_load_whole'), models.CheckConstraint(condition=models.Q(('left_error', django.db.models.functions.comparison.Cast(models.F('left_error'), models.BigIntegerField())), ('left_error__isnull', True), _connector='OR'), name='calibration_left_error_whole')],
            },
        ),
    ]
