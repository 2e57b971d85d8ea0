-- One row a record with a blank wound letter though its animal has several wounds.

with several as (
    select animal
    from incoming_wounds
    group by animal
    having count(distinct wound) > 1
)

select assumed.sheet, assumed.row_number, 'wound_letter' as field, null::varchar as value
from incoming_assumed as assumed
inner join several using (animal)
where assumed.field = 'wound_letter'
