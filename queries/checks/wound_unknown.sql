-- One row an operation whose wound is not among the wounds.

select 'reconstructions' as sheet, operations.row_number, 'wound_letter' as field, operations.wound as value
from incoming_reconstructions as operations
left join incoming_wounds as wounds using (animal, wound)
where wounds.animal is null
