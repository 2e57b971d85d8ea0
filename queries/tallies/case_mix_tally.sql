-- One row a species, kind of operation and its traits: how many eligible cases were alike, and their codes.
-- `is_first_here` marks the first eligible case of its animal: traits of animals are counted once an animal.

with eligible as (
    select
        case_list.*,
        row_number() over (partition by animal order by animal_order, case_code) = 1 as is_first_here
    from case_list
    where status = 'eligible'
)

select
    species,
    method,
    method_group,
    location,
    sex,
    neutered,
    cause_group,
    recipient_bed,
    contamination,
    age_years,
    body_mass_kg,
    area_cm2,
    earlier_closures,
    planned_method is not null and planned_method <> method as is_changed_plan,
    is_first_here,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from eligible
left join shared_animal using (animal)
group by 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16
