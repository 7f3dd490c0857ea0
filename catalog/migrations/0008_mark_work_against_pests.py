from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalog', '0007_let_a_verdict_name_no_rule'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='treatment',
            name='treatment_state_known',
        ),
        migrations.AddField(
            model_name='treatment',
            name='against_pests',
            field=models.BooleanField(default=False),
        ),
        migrations.AlterField(
            model_name='treatment',
            name='state',
            field=models.CharField(choices=[('needed', 'needed'), ('started', 'started'), ('done', 'done'), ('dropped', 'called off')], default='needed', max_length=8),
        ),
        migrations.AddConstraint(
            model_name='treatment',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['needed', 'started', 'done', 'dropped'])), name='treatment_state_known', violation_error_message='That is no known word for state.'),
        ),
    ]
