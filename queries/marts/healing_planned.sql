-- One row a row of `healing`: between which of its planned examinations it healed, as if there had been no other.
-- An examination prompted by a complication depends on it, so that its day is informative of more than the wound.
-- One seen healed at other examinations only is censored at its last planned examination that found it open.

with first_healed as (
    select subject, min(day) filter (where not is_open_planned) as right_day
    from healing_examination
    group by subject
),

spans as (
    select
        subject,
        first_healed.right_day,
        max(day) filter (where is_open_planned and (right_day is null or day < right_day)) as left_day
    from healing_examination
    inner join first_healed using (subject)
    group by subject, first_healed.right_day
)

select
    healing.case_code,
    healing.animal,
    healing.species,
    healing.method_group,
    coalesce(spans.left_day, 0) as left_day,
    spans.right_day,
    case
        when spans.right_day is not null then 'healed'
        when healing.cause = 'healed' then 'censored'
        else healing.cause
    end as cause,
    healing.exit_day,
    healing.status,
    healing.reason
from healing
left join spans on spans.subject = healing.case_code
