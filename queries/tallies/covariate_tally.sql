-- One row a kind of eligible case with what may go with its healing, take and hair: how many were alike, their codes.
-- `healing_status` is null where another operation speaks for the wound; `take_status` and `hair_grade` where unknown.

with took as (
    select case_code, status as take_status from take where is_primary and status in ('sure_yes', 'sure_no')
),

hair as (
    select case_code, value as hair_grade, day as hair_day from score where item = 'hair' and status = 'scored'
)

select
    cases.species,
    cases.method_group,
    cases.area_cm2,
    cases.is_distal,
    cases.recipient_bed,
    healing.status as healing_status,
    healing.left_day,
    healing.right_day,
    healing.cause,
    took.take_status,
    hair.hair_grade,
    hair.hair_day,
    shared_animal.number as animal,
    count(*) as weight,
    list(cases.case_code order by cases.case_code) as case_codes
from case_list as cases
left join healing using (case_code)
left join took using (case_code)
left join hair using (case_code)
left join shared_animal on shared_animal.animal = cases.animal
where cases.status = 'eligible'
group by 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13
