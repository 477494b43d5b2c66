import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('items', '0001_the_tables'),
        ('ledger', '0002_the_tables'),
    ]

    operations = [
        migrations.CreateModel(
            name='Release',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='releases', to='items.item')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ReleaseLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(max_length=12)),
                ('name', models.CharField(max_length=40)),
                ('verdict', models.CharField(max_length=12)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('release', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='release.release')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='LabelPrint',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('copy', models.SmallIntegerField()),
                ('reason', models.CharField(blank=True, default='', max_length=40)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.entry')),
                ('item_code', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='prints', to='items.itemcode')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('item_code', 'copy'), name='label_copy_once'), models.CheckConstraint(condition=models.Q(('copy', 1), models.Q(('reason', ''), _negated=True), _connector='OR'), name='reprint_says_why')],
            },
        ),
    ]
