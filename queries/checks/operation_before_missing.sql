-- One row an operation with a number above 1 whose wound has no operation with the number before it.

select 'reconstructions' as sheet, later.row_number, 'operation_number' as field,
    format('number {} without number {}', later.operation, later.operation - 1) as value
from incoming_reconstructions as later
left join incoming_reconstructions as earlier
    on earlier.animal = later.animal and earlier.wound = later.wound and earlier.operation = later.operation - 1
where later.operation > 1 and earlier.animal is null
