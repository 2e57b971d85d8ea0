-- One row a kind of case and interval between planned examinations: how many cases were alike, and their codes.

select
    species,
    method_group,
    left_day,
    right_day,
    cause,
    exit_day,
    status,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from healing_planned
left join shared_animal using (animal)
group by species, method_group, left_day, right_day, cause, exit_day, status, shared_animal.number
