-- One row an operation with a body condition above 5 on the scale of five.

select 'reconstructions' as sheet, row_number, 'bcs' as field, format('{} of 5', bcs) as value
from incoming_reconstructions
where bcs_scale = 'of_5' and bcs > 5
