-- One row a kind of complication and grade among the cases asked about: rows, cases with it, and their codes.

select
    species,
    complication_group,
    complication,
    grade,
    counts,
    count(*) as complications,
    count(distinct case_code) as weight,
    list(distinct case_code order by case_code) as case_codes
from complication
inner join (
    select case_code from complication_status where question = 'any' and status <> 'excluded'
) as asked using (case_code)
group by species, complication_group, complication, grade, counts
