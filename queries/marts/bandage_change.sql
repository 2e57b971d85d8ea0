-- One row a reconstruction and day on which its bandage was changed, whoever did it.

select distinct
    cases.case_code,
    cases.animal,
    cases.species,
    cases.method_group,
    visits.visit_day as day
from stg_visits as visits
inner join case_list as cases using (case_code)
where visits.bandage_changed
