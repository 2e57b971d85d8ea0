-- One row an item, kind of case and grade, or reason without one: how many cases were alike, and their codes.
-- Of several cases of an animal that its owner marked, the first one speaks.

with placed as (
    select
        score.*,
        row_number() over (partition by animal, item, status order by case_code) as place
    from score
)

select
    item,
    species,
    method_group,
    value,
    day,
    case when item = 'look_owner' and status = 'scored' and place > 1 then 'not_scored' else status end as status,
    case when item = 'look_owner' and status = 'scored' and place > 1 then 'another case of the animal' else reason
    end as reason,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from placed
left join shared_animal using (animal)
group by 1, 2, 3, 4, 5, 6, 7, 8
