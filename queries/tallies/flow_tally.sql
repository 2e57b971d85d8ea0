-- One row a way in and out of the audit: how many operations were alike, and their codes.

select
    species,
    status,
    reason,
    exit_reason,
    exit_group,
    last_seen_day,
    was_seen,
    min(surgery_month) as first_month,
    max(surgery_month) as last_month,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from case_list
left join shared_animal using (animal)
group by species, status, reason, exit_reason, exit_group, last_seen_day, was_seen, shared_animal.number
