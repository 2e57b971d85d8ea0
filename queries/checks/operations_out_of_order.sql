-- One row an operation dated before the one with the number before it on the same wound.

select 'reconstructions' as sheet, later.row_number, 'surgery_date' as field,
    format('number {} is dated before number {}', later.operation, earlier.operation) as value
from incoming_reconstructions as later
inner join incoming_reconstructions as earlier
    on earlier.animal = later.animal and earlier.wound = later.wound and earlier.operation = later.operation - 1
where earlier.clock > later.clock
