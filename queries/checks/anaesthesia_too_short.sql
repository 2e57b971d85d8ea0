-- One row an operation that took longer than its anaesthesia.

select 'reconstructions' as sheet, row_number, 'anaesthesia_min' as field,
    format('{} min, surgery {} min', anaesthesia_min, surgery_min) as value
from incoming_reconstructions
where anaesthesia_min < surgery_min
