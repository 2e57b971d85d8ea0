-- One row a reconstruction (or wound, as in `healing`) and day of the protocol: had it healed by then?
-- An animal that died, lost the limb or was operated again by that day without healing had not; one that left for
-- reasons of the wound later had not either. Whoever left before the day for another reason cannot be told.

with exit_end as (
    select distinct grouping as cause, is_failure
    from code
    where field = 'exit_reason' and ends_graft
),

asked as (
    select
        healing.*,
        healing_day.day,
        coalesce(exit_end.is_failure, false) as is_failure,
        coalesce(not exit_end.is_failure, false) as is_unrelated_end
    from healing
    cross join healing_day
    left join exit_end using (cause)
)

select
    case_code,
    animal,
    species,
    method,
    method_group,
    location,
    day,
    left_day,
    right_day,
    cause,
    case
        when status = 'excluded' then 'excluded'
        when right_day <= day then 'sure_yes'
        when left_day >= day or is_failure or (is_unrelated_end and exit_day <= day) then 'sure_no'
        else 'cannot_tell'
    end as status,
    case
        when status = 'excluded' then reason
        when right_day <= day then null
        when left_day >= day then 'seen open that day or later'
        when is_failure or (is_unrelated_end and exit_day <= day) then exit_words
        when right_day is not null then 'healed between two examinations'
        when left_day = 0 then 'never seen open or healed'
        else 'last seen open before that day'
    end as reason
from asked
