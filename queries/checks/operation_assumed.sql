-- One row a record with a blank operation number though its wound was operated on several times.

with several as (
    select animal, wound
    from incoming_reconstructions
    group by animal, wound
    having count(distinct operation) > 1
)

select assumed.sheet, assumed.row_number, 'operation_number' as field, null::varchar as value
from incoming_assumed as assumed
inner join several using (animal, wound)
where assumed.field = 'operation_number'
