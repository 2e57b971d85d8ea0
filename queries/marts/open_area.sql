-- One row a reconstruction and examination on which the open area was measured, of the cases that are asked about.
-- Outlines count where they were measured; of two examinations on one day the smaller area stands.

select
    cases.case_code,
    cases.animal,
    cases.species,
    cases.method_group,
    visits.visit_day as day,
    min(visits.open_area_cm2) as open_area_cm2,
    arg_min(visits.open_perimeter_cm, visits.open_area_cm2) as open_perimeter_cm
from stg_visits as visits
inner join case_list as cases using (case_code)
where cases.status = 'eligible' and visits.is_examination and visits.open_area_cm2 is not null
group by cases.case_code, cases.animal, cases.species, cases.method_group, visits.visit_day
