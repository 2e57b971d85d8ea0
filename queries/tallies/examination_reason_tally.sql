-- One row a kind of eligible case and reason for an examination, planned or not (null: none on record): how many.

select
    cases.species,
    cases.method_group,
    visits.scheduled as why,
    count(*) as examinations
from stg_visits as visits
inner join case_list as cases using (case_code)
where visits.is_examination and cases.status = 'eligible'
group by cases.species, cases.method_group, visits.scheduled
