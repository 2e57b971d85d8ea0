-- One row a record whose keys stand in an earlier row of the same sheet.

select sheet, row_number, 'patient_number' as field, format('row {}', first_row) as value
from (
    select sheet, row_number, min(row_number) over (partition by sheet, row_key) as first_row
    from incoming_keys
)
where row_number > first_row
