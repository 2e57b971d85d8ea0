-- One row a kind of case, day of the protocol and answer: how many cases had healed by then, and their codes.

select
    species,
    method_group,
    location,
    day,
    status,
    reason,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from healing_by_day
left join shared_animal using (animal)
group by species, method_group, location, day, status, reason, shared_animal.number
