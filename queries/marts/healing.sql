-- One row a reconstruction, or a wound where the protocol asks about wounds or animals: between which looks it healed.
-- Healed after the last day seen open (0 if never) and no later than the first day seen healed (null if never).
-- Asked about a wound, its first operation speaks for it: days run from there, and a re-operation is no end.
-- Reports and telephone calls move neither end, nor does a look on the day of surgery that found it healed.

with chained as (
    select
        cases.*,
        protocol.heal_question = 'graft' as is_of_graft,
        protocol.heal_confirm_after as confirm_after,
        first_value(case_code) over chain as first_code,
        first_value(clock_day) over chain as first_clock_day
    from case_list as cases
    cross join protocol
    window chain as (
        partition by animal, wound order by case when method = 'not_done' then 1 else 0 end, clock_day, operation
    )
),

clocked as (
    select
        chained.*,
        case when is_of_graft then case_code else first_code end as subject,
        case when is_of_graft then 0 else clock_day - first_clock_day end as shift
    from chained
),

looks as (
    select
        clocked.subject,
        clocked.confirm_after,
        visits.visit_day + clocked.shift as day,
        bool_or(visits.epithelialised = 'no') as is_open
    from stg_visits as visits
    inner join clocked using (case_code)
    where visits.is_seen
        and clocked.shift >= 0
        and (visits.epithelialised = 'no' or (visits.epithelialised = 'yes' and visits.visit_day + clocked.shift > 0))
    group by clocked.subject, clocked.confirm_after, visits.visit_day + clocked.shift
),

first_healed as (
    select subject, min(day) filter (where not is_open) as right_day
    from looks
    group by subject
),

spans as (
    select
        subject,
        first_healed.right_day,
        max(day) filter (where is_open and (right_day is null or day < right_day)) as left_day,
        min(day) filter (where is_open and day > right_day) as reopened_day,
        min(day) filter (where not is_open and day >= right_day + confirm_after) as confirming_day
    from looks
    inner join first_healed using (subject)
    group by subject, first_healed.right_day
),

ends as (
    select
        subject,
        exit_group,
        exit_reason,
        exit_day + shift as exit_day,
        exit_group in ('died_related', 'died_unrelated', 'euthanased_cost', 'amputated_wound', 'amputated_other')
            or (exit_group = 're_operated' and is_of_graft) as is_competing,
        row_number() over (partition by subject order by shift desc, operation desc) as place
    from clocked
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
    coalesce(confirming_day < coalesce(reopened_day, confirming_day + 1), false) as is_confirmed,
    spans.reopened_day,
    ends.exit_group,
    ends.exit_day,
    exit_reason.label as exit_words,
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
left join code as exit_reason on exit_reason.field = 'exit_reason' and exit_reason.code = ends.exit_reason
