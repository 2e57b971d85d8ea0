-- One row a kind of case and interval: how many eligible cases healed, left or were last seen alike.
-- The day of the exit is kept only where it is the end of the case.

select
    species,
    method_group,
    location,
    left_day,
    right_day,
    cause,
    case when cause not in ('healed', 'censored') then exit_day end as exit_day,
    count(*) as cases
from healing
where status = 'eligible'
group by
    species, method_group, location, left_day, right_day, cause,
    case when cause not in ('healed', 'censored') then exit_day end
