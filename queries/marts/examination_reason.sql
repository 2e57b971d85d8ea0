-- One row an eligible reconstruction and reason for an examination of it, planned or not; null where none is on record.

select
    cases.case_code,
    cases.species,
    cases.method_group,
    visits.scheduled as why,
    count(*) as examinations
from stg_visits as visits
inner join case_list as cases using (case_code)
where visits.is_examination and cases.status = 'eligible'
group by cases.case_code, cases.species, cases.method_group, visits.scheduled
