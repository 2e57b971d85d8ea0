-- One row a kind of case and interval: how many cases healed, left or were last seen alike, and their codes.

select
    species,
    method,
    method_group,
    location,
    left_day,
    right_day,
    is_confirmed,
    reopened_day,
    cause,
    exit_group,
    exit_day,
    exit_words,
    status,
    reason,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from healing
left join shared_animal using (animal)
group by
    species, method, method_group, location, left_day, right_day, is_confirmed, reopened_day, cause, exit_group,
    exit_day, exit_words, status, reason, shared_animal.number
