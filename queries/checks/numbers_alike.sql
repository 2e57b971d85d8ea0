-- One row an animal whose patient number differs from another only in leading zeros, spaces or marks.

select 'animals' as sheet, row_number, 'patient_number' as field, format('row {}', other_row) as value
from incoming_alike
