import django.db.models.deletion
import django.db.models.functions.comparison
import records.items.models.codes
import records.ledger.patterns
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('catalogue', '0001_the_tables'),
        ('equipment', '0001_the_tables'),
        ('ledger', '0002_the_tables'),
        ('people', '__first__'),
    ]

    operations = [
        migrations.CreateModel(
            name='Place',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('station', 'station'), ('shelf', 'shelf'), ('outside', 'outside party')], max_length=8)),
                ('code', models.CharField(max_length=40, null=True, unique=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('party', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
                ('station', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='place', to='equipment.station')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('code__isnull', False), ('party__isnull', False), _connector='OR'), name='place_has_code_or_party')],
            },
        ),
        migrations.CreateModel(
            name='Item',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('L', 'by lot'), ('U', 'by unit')], max_length=1)),
                ('origin', models.CharField(choices=[('received', 'received from a supplier'), ('made', 'made in the house'), ('stated', 'known only by its use')], max_length=8)),
                ('born_at', models.DateTimeField()),
                ('expires_on', models.DateField(null=True)),
                ('good_until', models.DateTimeField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='items', to='catalogue.partrevision')),
                ('place_of_birth', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.place')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['L', 'U'])), name='item_is_lot_or_unit')],
            },
        ),
        migrations.CreateModel(
            name='Consignment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', records.items.models.codes.HouseCodeField(max_length=40, unique=True)),
                ('direction', models.CharField(choices=[('out', 'out, to come back'), ('ship', 'shipped for good'), ('back', 'come back')], max_length=4)),
                ('at', models.DateTimeField()),
                ('back_of', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='items.consignment')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.place')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ConsignmentLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('consignment', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='items.consignment')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='consignment_lines', to='items.item')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('consignment', 'item'), name='consignment_line_once')],
            },
        ),
        migrations.CreateModel(
            name='Hold',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=40)),
                ('scope', models.SmallIntegerField(choices=[(1, 'use, step, send-out and ship'), (2, 'every step after the named one, send-out and ship'), (3, 'ship only')], default=1)),
                ('at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('operation', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.operation')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='items.item')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='hold_says_why', violation_error_message='Choose why this is held.')],
            },
        ),
        migrations.CreateModel(
            name='HoldLift',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('hold', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='lift', to='items.hold')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='FeedUse',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('head', models.CharField(max_length=20)),
                ('began_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='items.feeduse')),
                ('station', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='equipment.station')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='feed_uses', to='items.item')),
            ],
            options={
                'indexes': [models.Index(fields=['station', 'head', 'began_at'], name='feed_use_in_order')],
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='feed_use_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='feed_use_first_is_version_1'), models.CheckConstraint(condition=models.Q(('began_at__lt', models.F('ended_at'))), name='feed_use_takes_time')],
            },
        ),
        migrations.CreateModel(
            name='FeedEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('head', models.CharField(max_length=20)),
                ('not_before', models.DateTimeField()),
                ('not_after', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='items.feedentry')),
                ('station', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='equipment.station')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='feeds', to='items.item')),
            ],
            options={
                'verbose_name_plural': 'feed entries',
                'indexes': [models.Index(fields=['station', 'head', 'not_before'], name='feed_entry_in_order')],
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='feed_entry_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='feed_entry_first_is_version_1'), models.CheckConstraint(condition=models.Q(('not_before__lte', models.F('not_after'))), name='feed_window_is_not_upside_down')],
            },
        ),
        migrations.CreateModel(
            name='Evidence',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(max_length=8)),
                ('name', models.CharField(max_length=40)),
                ('verdict', models.CharField(choices=[('within', 'within'), ('near-edge', 'near edge'), ('outside', 'outside'), ('not-shown', 'not shown')], max_length=10)),
                ('at', models.DateTimeField()),
                ('good_until', models.DateTimeField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='evidence', to='items.item')),
            ],
            options={
                'verbose_name_plural': 'evidence',
                'indexes': [models.Index(fields=['item', 'what', 'name'], name='evidence_of_item')],
            },
        ),
        migrations.CreateModel(
            name='CustomerReturn',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('line', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='customer_return', to='items.consignmentline')),
                ('reason', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='items.item')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ItemCode',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=40)),
                ('why', models.CharField(choices=[('birth', 'first code, as told'), ('house', 'first code, made by the house'), ('renumbered', 'renumbered')], max_length=10)),
                ('alike', models.CharField(db_index=True, max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='codes', to='items.item')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('code',), name='item_code_once', violation_error_message='This code is taken.')],
            },
        ),
        migrations.CreateModel(
            name='LabelSwap',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('since', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('one', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.item')),
                ('other', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.item')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Loss',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('amount', records.ledger.patterns.StepsField(null=True)),
                ('written', models.CharField(blank=True, default='', max_length=40)),
                ('at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='items.loss')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='losses', to='items.item')),
                ('reason', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'verbose_name_plural': 'losses',
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='loss_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='loss_first_is_version_1'), models.CheckConstraint(condition=models.Q(('amount', django.db.models.functions.comparison.Cast(models.F('amount'), models.BigIntegerField())), ('amount__isnull', True), _connector='OR'), name='loss_amount_whole')],
            },
        ),
        migrations.CreateModel(
            name='LotDecision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('decision', models.CharField(choices=[('accept', 'accepted'), ('reject', 'rejected'), ('risk', 'released at risk')], max_length=8)),
                ('at', models.DateTimeField()),
                ('limit_amount', records.ledger.patterns.StepsField(null=True)),
                ('limit_until', models.DateTimeField(null=True)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='decisions', to='items.item')),
                ('reason', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('limit_amount', django.db.models.functions.comparison.Cast(models.F('limit_amount'), models.BigIntegerField())), ('limit_amount__isnull', True), _connector='OR'), name='lot_decision_limit_amount_whole')],
                'indexes': [models.Index(fields=['item', 'at'], name='lot_decision_of_item')],
            },
        ),
        migrations.CreateModel(
            name='Move',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='moves', to='items.item')),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.place')),
            ],
            options={
                'indexes': [models.Index(fields=['item', 'at'], name='move_of_item')],
            },
        ),
        migrations.CreateModel(
            name='Receipt',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('supplier', models.CharField(max_length=80)),
                ('supplier_lot', models.CharField(blank=True, db_index=True, default='', max_length=80)),
                ('amount', records.ledger.patterns.StepsField()),
                ('written', models.CharField(max_length=40)),
                ('expires_on', models.DateField(null=True)),
                ('at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='items.receipt')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='items.item')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='receipt_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='receipt_first_is_version_1'), models.CheckConstraint(condition=models.Q(('amount', django.db.models.functions.comparison.Cast(models.F('amount'), models.BigIntegerField())), ('amount__isnull', True), _connector='OR'), name='receipt_amount_whole')],
            },
        ),
        migrations.CreateModel(
            name='CertificateValue',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60)),
                ('written', models.CharField(max_length=40)),
                ('unit', models.CharField(blank=True, default='', max_length=12)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('receipt', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='certificate', to='items.receipt')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='SwapConfirm',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('swap', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='confirmations', to='items.labelswap')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('swap', 'person'), name='swap_confirmed_once_a_person')],
            },
        ),
        migrations.CreateModel(
            name='TankEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('kind', models.SmallIntegerField(choices=[(0, 'cleaned'), (1, 'charged'), (2, 'drawn')])),
                ('amount', records.ledger.patterns.StepsField(default=0)),
                ('at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='items.tankentry')),
                ('item', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='tank_entries', to='items.item')),
                ('tank', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='log', to='catalogue.tank')),
            ],
            options={
                'verbose_name_plural': 'tank entries',
                'indexes': [models.Index(fields=['tank', 'at'], name='tank_entry_in_order')],
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='tank_entry_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='tank_entry_first_is_version_1'), models.CheckConstraint(condition=models.Q(models.Q(('item__isnull', True), ('kind', 0)), models.Q(('item__isnull', False), ('kind__in', [1, 2])), _connector='OR'), name='tank_entry_has_an_item_unless_cleaned'), models.CheckConstraint(condition=models.Q(('amount', django.db.models.functions.comparison.Cast(models.F('amount'), models.BigIntegerField())), ('amount__isnull', True), _connector='OR'), name='tank_entry_amount_whole')],
            },
        ),
        migrations.CreateModel(
            name='Link',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.SmallIntegerField(default=1)),
                ('status', models.SmallIntegerField(choices=[(0, 'stands'), (2, 'ended'), (3, 'withdrawn')], default=0)),
                ('at', models.DateTimeField()),
                ('certainty', models.SmallIntegerField(choices=[(0, 'confirmed'), (1, 'possible')], default=0)),
                ('share_ppb', models.IntegerField(null=True)),
                ('least_ppb', models.IntegerField(null=True)),
                ('most_ppb', models.IntegerField(null=True)),
                ('amount', records.ledger.patterns.StepsField(null=True)),
                ('reason', models.CharField(blank=True, default='', max_length=40)),
                ('child', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='made_from', to='items.item')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('feed', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='links', to='items.feedentry')),
                ('first', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='later', to='items.link')),
                ('parent', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='used_in', to='items.item')),
                ('words', records.ledger.patterns.WordsField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.privatewords')),
                ('draw', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='links', to='items.tankentry')),
            ],
            options={
                'indexes': [models.Index(fields=['parent', 'child'], name='link_where_used'), models.Index(fields=['child', 'parent'], name='link_made_from'), models.Index(condition=models.Q(('version__gt', 1)), fields=['parent'], name='link_later_used'), models.Index(condition=models.Q(('version__gt', 1)), fields=['child'], name='link_later_made'), models.Index(condition=models.Q(('draw__isnull', False)), fields=['draw'], name='link_of_draw')],
                'constraints': [models.UniqueConstraint(fields=('first', 'version'), name='link_version_once'), models.CheckConstraint(condition=models.Q(models.Q(('first__isnull', True), ('version', 1)), models.Q(('first__isnull', False), ('version__gt', 1)), _connector='OR'), name='link_first_is_version_1'), models.CheckConstraint(condition=models.Q(('child', models.F('parent')), _negated=True), name='link_not_to_itself'), models.CheckConstraint(condition=models.Q(models.Q(('share_ppb__isnull', True), ('share_ppb__range', (0, 1000000000)), _connector='OR'), models.Q(('least_ppb__isnull', True), ('least_ppb__range', (0, 1000000000)), _connector='OR'), models.Q(('most_ppb__isnull', True), ('most_ppb__range', (0, 1000000000)), _connector='OR')), name='link_share_in_range'), models.CheckConstraint(condition=models.Q(('draw__isnull', True), ('feed__isnull', True), _connector='OR'), name='link_one_source'), models.CheckConstraint(condition=models.Q(('amount', django.db.models.functions.comparison.Cast(models.F('amount'), models.BigIntegerField())), ('amount__isnull', True), _connector='OR'), name='link_amount_whole')],
            },
        ),
        migrations.CreateModel(
            name='TankLock',
            fields=[
                ('tank', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='lock', serialize=False, to='catalogue.tank')),
                ('entry', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='CodeCounter',
            fields=[
                ('series', models.CharField(max_length=5, primary_key=True, serialize=False)),
                ('number', models.IntegerField(default=0)),
                ('entry', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ItemState',
            fields=[
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='state', serialize=False, to='items.item')),
                ('code', models.CharField(max_length=40, unique=True)),
                ('where', models.CharField(db_index=True, default='here', max_length=8)),
                ('remaining', records.ledger.patterns.StepsField(null=True)),
                ('entry', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('inside', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='items.item')),
                ('placed_at', models.DateTimeField(null=True)),
                ('has_left', models.BooleanField(default=False)),
                ('has_holds', models.BooleanField(default=False)),
                ('place', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='items_here', to='items.place')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('remaining', django.db.models.functions.comparison.Cast(models.F('remaining'), models.BigIntegerField())), ('remaining__isnull', True), _connector='OR'), name='item_state_remaining_whole')],
            },
        ),
    ]
