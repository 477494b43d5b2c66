import django.db.models.deletion
import django.db.models.functions.comparison
import records.ledger.patterns
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('catalogue', '0001_the_tables'),
        ('equipment', '0001_the_tables'),
        ('items', '0001_the_tables'),
        ('ledger', '0002_the_tables'),
    ]

    operations = [
        migrations.CreateModel(
            name='StepRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('attempt', models.SmallIntegerField(default=1)),
                ('began_at', models.DateTimeField(null=True)),
                ('ended_at', models.DateTimeField()),
                ('outcome', models.CharField(choices=[('done', 'done'), ('failed', 'failed'), ('interrupted', 'interrupted')], default='done', max_length=12)),
                ('rules_seen', models.CharField(blank=True, default='', max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='steps.steprecord')),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.operation')),
                ('place', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.place')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='steps', to='items.item')),
            ],
            options={
                'indexes': [models.Index(fields=['unit', 'ended_at'], name='step_record_of_unit')],
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='step_record_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='step_record_first_is_version_1'), models.UniqueConstraint(condition=models.Q(('version', 1)), fields=('unit', 'operation', 'attempt'), name='step_attempt_once')],
            },
        ),
        migrations.CreateModel(
            name='StepReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=40)),
                ('value', records.ledger.patterns.StepsField()),
                ('unit_kind', models.CharField(max_length=16)),
                ('unit', models.CharField(max_length=8)),
                ('written', models.CharField(max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('step', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='steps.steprecord')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('value', django.db.models.functions.comparison.Cast(models.F('value'), models.BigIntegerField())), ('value__isnull', True), _connector='OR'), name='step_reading_value_whole')],
            },
        ),
        migrations.CreateModel(
            name='StepTool',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('step', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tools', to='steps.steprecord')),
                ('tool', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='uses', to='equipment.tool')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('step', 'tool'), name='step_tool_once')],
            },
        ),
        migrations.CreateModel(
            name='ToolCycles',
            fields=[
                ('tool', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='cycles', serialize=False, to='equipment.tool')),
                ('cycles', models.IntegerField(default=0)),
                ('entry', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'verbose_name_plural': 'tool cycles',
            },
        ),
        migrations.CreateModel(
            name='Waiting',
            fields=[
                ('unit', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='waiting', serialize=False, to='items.item')),
                ('since', models.DateTimeField()),
                ('entry', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('operation', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='waiting', to='catalogue.operation')),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
