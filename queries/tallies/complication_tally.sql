-- One row a question, kind of case and answer: how many cases were alike, and their codes.
-- `is_overridden`: a grade was set by hand and differs from what the treatment gives.

with overridden as (
    select distinct case_code
    from complication
    where counts and grade is not null and grade is distinct from derived_grade
)

select
    question,
    species,
    method_group,
    location,
    status,
    reason,
    worst_grade,
    overridden.case_code is not null as is_overridden,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from complication_status
left join shared_animal using (animal)
left join overridden using (case_code)
group by 1, 2, 3, 4, 5, 6, 7, 8, 9
