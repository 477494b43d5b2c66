import django.db.models.deletion
import django.db.models.functions.comparison
import records.ledger.patterns
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0002_the_tables'),
        ('people', '__first__'),
    ]

    operations = [
        migrations.CreateModel(
            name='Part',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.CharField(max_length=40, unique=True)),
                ('name', models.CharField(blank=True, default='', max_length=80)),
                ('kind', models.CharField(choices=[('fibre', 'fibre'), ('resin', 'resin'), ('hardener', 'hardener'), ('resin-mix', 'mixed resin'), ('adhesive', 'adhesive'), ('adhesive-hardener', 'adhesive hardener'), ('adhesive-mix', 'mixed adhesive'), ('insert', 'frame insert'), ('binder', 'binder'), ('coupon', 'coupon'), ('preform', 'preform'), ('front', 'front triangle'), ('rear', 'rear triangle'), ('frame', 'frame'), ('bladder', 'bladder')], max_length=20)),
                ('tracked', models.CharField(choices=[('L', 'by lot'), ('U', 'by unit')], max_length=1)),
                ('unit_kind', models.CharField(blank=True, default='', max_length=16)),
                ('unit', models.CharField(blank=True, default='', max_length=8)),
                ('prefix', models.CharField(blank=True, default='', max_length=2)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Characteristic',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='characteristics', to='catalogue.part')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('part', 'name'), name='characteristic_once')],
            },
        ),
        migrations.CreateModel(
            name='Proposal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(max_length=120)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('reason', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PartRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.CharField(max_length=20)),
                ('drawing', models.CharField(blank=True, default='', max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='catalogue.part')),
                ('proposal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.proposal')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('part', 'revision'), name='part_revision_once')],
            },
        ),
        migrations.CreateModel(
            name='MixRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.CharField(max_length=20)),
                ('mix', models.CharField(max_length=40)),
                ('pot_life_ms', models.BigIntegerField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.part')),
                ('proposal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.proposal')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('mix', 'revision'), name='mix_revision_once')],
            },
        ),
        migrations.CreateModel(
            name='CharacteristicRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.CharField(max_length=20)),
                ('unit_kind', models.CharField(max_length=16)),
                ('unit', models.CharField(max_length=8)),
                ('nominal', records.ledger.patterns.StepsField(null=True)),
                ('lower', records.ledger.patterns.StepsField(null=True)),
                ('upper', records.ledger.patterns.StepsField(null=True)),
                ('decimals', models.SmallIntegerField(default=2)),
                ('gauge_kind', models.CharField(blank=True, default='', max_length=20)),
                ('method', models.CharField(blank=True, default='', max_length=120)),
                ('uncertainty', records.ledger.patterns.StepsField(null=True)),
                ('readings', models.SmallIntegerField(default=1)),
                ('worked_out', models.CharField(choices=[('mean', 'mean of the readings'), ('largest', 'largest reading'), ('smallest', 'smallest reading'), ('range', 'largest less smallest')], default='mean', max_length=8)),
                ('is_key', models.BooleanField(default=False)),
                ('characteristic', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='catalogue.characteristic')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('proposal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.proposal')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('characteristic', 'revision'), name='characteristic_revision_once'), models.CheckConstraint(condition=models.Q(('lower__isnull', True), ('upper__isnull', True), ('lower__lte', models.F('upper')), _connector='OR'), name='band_is_not_upside_down', violation_error_message='The lower limit lies above the upper.'), models.CheckConstraint(condition=models.Q(('nominal', django.db.models.functions.comparison.Cast(models.F('nominal'), models.BigIntegerField())), ('nominal__isnull', True), _connector='OR'), name='characteristic_revision_nominal_whole'), models.CheckConstraint(condition=models.Q(('lower', django.db.models.functions.comparison.Cast(models.F('lower'), models.BigIntegerField())), ('lower__isnull', True), _connector='OR'), name='characteristic_revision_lower_whole'), models.CheckConstraint(condition=models.Q(('upper', django.db.models.functions.comparison.Cast(models.F('upper'), models.BigIntegerField())), ('upper__isnull', True), _connector='OR'), name='characteristic_revision_upper_whole'), models.CheckConstraint(condition=models.Q(('uncertainty', django.db.models.functions.comparison.Cast(models.F('uncertainty'), models.BigIntegerField())), ('uncertainty__isnull', True), _connector='OR'), name='characteristic_revision_uncertainty_whole')],
            },
        ),
        migrations.CreateModel(
            name='Approval',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('in_force_from', models.DateTimeField(db_index=True)),
                ('approver', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('proposer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('proposal', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='approval', to='catalogue.proposal')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('approver__isnull', True), models.Q(('approver', models.F('proposer')), _negated=True), _connector='OR'), name='approver_is_not_the_proposer', violation_error_message='Somebody other than the proposer must approve.')],
            },
        ),
        migrations.CreateModel(
            name='RecipeRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.CharField(max_length=20)),
                ('recipe', models.CharField(max_length=40)),
                ('kind', models.CharField(max_length=20)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('proposal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.proposal')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('recipe', 'revision'), name='recipe_revision_once')],
            },
        ),
        migrations.CreateModel(
            name='RecipeRule',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('feature', models.CharField(max_length=40)),
                ('role', models.CharField(blank=True, default='', max_length=40)),
                ('unit_kind', models.CharField(max_length=16)),
                ('level', records.ledger.patterns.StepsField(null=True)),
                ('lower', records.ledger.patterns.StepsField(null=True)),
                ('upper', records.ledger.patterns.StepsField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('recipe_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='rules', to='catalogue.reciperevision')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('level', django.db.models.functions.comparison.Cast(models.F('level'), models.BigIntegerField())), ('level__isnull', True), _connector='OR'), name='recipe_rule_level_whole'), models.CheckConstraint(condition=models.Q(('lower', django.db.models.functions.comparison.Cast(models.F('lower'), models.BigIntegerField())), ('lower__isnull', True), _connector='OR'), name='recipe_rule_lower_whole'), models.CheckConstraint(condition=models.Q(('upper', django.db.models.functions.comparison.Cast(models.F('upper'), models.BigIntegerField())), ('upper__isnull', True), _connector='OR'), name='recipe_rule_upper_whole')],
            },
        ),
        migrations.CreateModel(
            name='RouteRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.CharField(max_length=20)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='routes', to='catalogue.part')),
                ('proposal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.proposal')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('part', 'revision'), name='route_revision_once')],
            },
        ),
        migrations.CreateModel(
            name='Operation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('n', models.SmallIntegerField()),
                ('name', models.CharField(max_length=40)),
                ('station_kind', models.CharField(blank=True, default='', max_length=20)),
                ('tool_kind', models.CharField(blank=True, default='', max_length=12)),
                ('caution', models.CharField(blank=True, default='', max_length=40)),
                ('makes_safe', models.BooleanField(default=False)),
                ('needs_qualification', models.BooleanField(default=False)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('route_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='operations', to='catalogue.routerevision')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('route_revision', 'n'), name='operation_place_once'), models.UniqueConstraint(fields=('route_revision', 'name'), name='operation_name_once')],
            },
        ),
        migrations.CreateModel(
            name='OperationAsk',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(choices=[('run', 'a run judged'), ('measure', 'a measure within')], max_length=8)),
                ('name', models.CharField(max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='asks', to='catalogue.operation')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='OperationReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=40)),
                ('unit_kind', models.CharField(max_length=16)),
                ('unit', models.CharField(max_length=8)),
                ('lower', records.ledger.patterns.StepsField(null=True)),
                ('upper', records.ledger.patterns.StepsField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='catalogue.operation')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('lower', django.db.models.functions.comparison.Cast(models.F('lower'), models.BigIntegerField())), ('lower__isnull', True), _connector='OR'), name='operation_reading_lower_whole'), models.CheckConstraint(condition=models.Q(('upper', django.db.models.functions.comparison.Cast(models.F('upper'), models.BigIntegerField())), ('upper__isnull', True), _connector='OR'), name='operation_reading_upper_whole')],
            },
        ),
        migrations.CreateModel(
            name='OperationInput',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('fibre', 'fibre'), ('resin', 'resin'), ('hardener', 'hardener'), ('resin-mix', 'mixed resin'), ('adhesive', 'adhesive'), ('adhesive-hardener', 'adhesive hardener'), ('adhesive-mix', 'mixed adhesive'), ('insert', 'frame insert'), ('binder', 'binder'), ('coupon', 'coupon'), ('preform', 'preform'), ('front', 'front triangle'), ('rear', 'rear triangle'), ('frame', 'frame'), ('bladder', 'bladder')], max_length=20)),
                ('amount', records.ledger.patterns.StepsField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='inputs', to='catalogue.operation')),
                ('part', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.part')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('amount', django.db.models.functions.comparison.Cast(models.F('amount'), models.BigIntegerField())), ('amount__isnull', True), _connector='OR'), name='operation_input_amount_whole')],
            },
        ),
        migrations.CreateModel(
            name='RulebookRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.CharField(max_length=20)),
                ('cut_off_ppb', models.BigIntegerField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('proposal', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.proposal')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('revision',), name='rulebook_revision_once')],
            },
        ),
        migrations.CreateModel(
            name='HoldRule',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('cause', models.CharField(max_length=40)),
                ('scope', models.SmallIntegerField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('rulebook', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hold_rules', to='catalogue.rulebookrevision')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('rulebook', 'cause'), name='hold_rule_once')],
            },
        ),
        migrations.CreateModel(
            name='Tank',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=40, unique=True)),
                ('kind', models.CharField(choices=[('tank', 'tank'), ('bin', 'bin')], default='tank', max_length=4)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tanks', to='catalogue.part')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='MixComponent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('n', models.SmallIntegerField()),
                ('ratio_ppb', models.BigIntegerField()),
                ('plus_ppb', models.BigIntegerField()),
                ('minus_ppb', models.BigIntegerField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('mix_revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='components', to='catalogue.mixrevision')),
                ('part', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.part')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('mix_revision', 'part'), name='mix_component_once')],
            },
        ),
    ]
