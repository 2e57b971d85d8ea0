-- One row a contact whose open area and whose word on healing contradict each other.

select 'visits' as sheet, row_number, 'open_area_cm2' as field,
    format('open area {:g} cm2, completely epithelialised: {}', open_area_cm2, epithelialised) as value
from incoming_visits
where (open_area_cm2 = 0 and epithelialised = 'no') or (open_area_cm2 > 0 and epithelialised = 'yes')
