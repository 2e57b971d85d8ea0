-- One row a case of which the open area was measured: the days, areas and perimeters (0: not measured), and its code.
-- `animal` is a number where an animal has several operations.

select
    species,
    method_group,
    list(day order by day) as days,
    list(open_area_cm2 order by day) as areas_cm2,
    list(coalesce(open_perimeter_cm, 0) order by day) as perimeters_cm,
    shared_animal.number as animal,
    1 as weight,
    list(distinct case_code) as case_codes
from open_area
left join shared_animal using (animal)
group by case_code, species, method_group, shared_animal.number
