-- One row a reconstruction: its bandage changes, and the longest wait between two of them.
-- Waits count until the first examination that found it healed, or day 21. Without an answer to "bandage changed"
-- there is nothing to count, which is not the same as no change.

with asked as (
    select
        case_code,
        count(bandage_changed) as answers,
        min(visit_day) filter (where is_seen and epithelialised = 'yes') as healed_day
    from stg_visits
    group by case_code
),

spaced as (
    select
        case_code,
        day,
        day - lag(day) over (partition by case_code order by day) as gap
    from bandage_change
),

counted as (
    select
        spaced.case_code,
        count(*) as changes,
        min(day) as first_change_day,
        max(gap) filter (where day <= least(21, healed_day)) as longest_gap,
        count(*) filter (where day <= 7) as changes_by_7,
        count(*) filter (where day <= 14) as changes_by_14,
        count(*) filter (where day <= 21) as changes_by_21
    from spaced
    inner join asked using (case_code)
    group by spaced.case_code
)

select
    cases.case_code,
    cases.animal,
    cases.species,
    cases.method_group,
    coalesce(counted.changes, 0) as changes,
    counted.first_change_day,
    counted.longest_gap,
    coalesce(counted.changes_by_7, 0) as changes_by_7,
    coalesce(counted.changes_by_14, 0) as changes_by_14,
    coalesce(counted.changes_by_21, 0) as changes_by_21,
    coalesce(cases.last_seen_day, cases.exit_day) as followed_to,
    case when cases.status = 'excluded' or coalesce(asked.answers, 0) = 0 then 'excluded' else 'eligible' end as status,
    case
        when cases.status = 'excluded' then cases.reason
        when coalesce(asked.answers, 0) = 0 then 'bandage changes not recorded'
    end as reason
from case_list as cases
left join asked using (case_code)
left join counted using (case_code)
