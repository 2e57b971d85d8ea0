-- One row a kind of graft, threshold and reading of take: how many cases were alike, and their codes.
-- In every tally `animal` is a number where an animal has several operations, and null where it has this one only.

select
    species,
    method,
    method_group,
    location,
    threshold_pct,
    is_primary,
    status,
    reason,
    status_each,
    reason_each,
    read_on_day,
    viable_pct,
    uncertain_pct,
    lost_full_pct,
    loss_depth,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from take
left join shared_animal using (animal)
group by
    species, method, method_group, location, threshold_pct, is_primary, status, reason, status_each, reason_each,
    read_on_day, viable_pct, uncertain_pct, lost_full_pct, loss_depth, shared_animal.number
