-- One row a reconstruction, or a wound where the protocol asks about wounds or animals: between which examinations it
-- healed.
-- Healed after the last day seen open (0 if never) and no later than the first day seen healed (null if never).
-- Asked about a wound, its first operation stands for it: days run from there, and a re-operation is no end.

with first_healed as (
    select subject, min(day) filter (where not is_open) as right_day
    from healing_examination
    group by subject
),

spans as (
    select
        subject,
        first_healed.right_day,
        max(day) filter (where is_open and (right_day is null or day < right_day)) as left_day,
        min(day) filter (where is_open and day > right_day) as reopened_day,
        min(day) filter (where not is_open and day >= right_day + heal_confirm_after) as confirming_day
    from healing_examination
    inner join first_healed using (subject)
    cross join protocol
    group by subject, first_healed.right_day
),

ends as (
    select
        subject,
        exit_group,
        exit_reason.label as exit_words,
        exit_day + shift as exit_day,
        exit_reason.ends_wound or (exit_reason.ends_graft and is_of_graft) as is_competing,
        row_number() over (partition by subject order by shift desc, operation desc) as place
    from operation_clock
    left join code as exit_reason
        on exit_reason.field = 'exit_reason' and exit_reason.code = operation_clock.exit_reason
    where shift >= 0
)

select
    cases.case_code,
    cases.animal,
    cases.species,
    cases.method,
    cases.method_group,
    cases.location,
    coalesce(spans.left_day, 0) as left_day,
    spans.right_day,
    confirming_day is not null and (reopened_day is null or confirming_day < reopened_day) as is_confirmed,
    spans.reopened_day,
    ends.exit_group,
    ends.exit_day,
    ends.exit_words,
    case
        when spans.right_day is not null then 'healed'
        when ends.is_competing then ends.exit_group
        else 'censored'
    end as cause,
    cases.status,
    cases.reason
from case_list as cases
inner join ends on ends.subject = cases.case_code and ends.place = 1
left join spans on spans.subject = cases.case_code
