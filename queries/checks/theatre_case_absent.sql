-- One row a line of the theatre list without an operation of that animal within three days of it.

select 'theatre_list' as sheet, planned.row_number, 'patient_number' as field, null::varchar as value
from incoming_theatre_list as planned
left join incoming_reconstructions as operations
    on operations.animal = planned.animal and abs(operations.clock - planned.clock) <= 3
where operations.animal is null
