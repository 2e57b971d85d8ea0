-- One row a wound whose area is length times width, by its own word or by its figures: a rectangle, not a wound.

select 'wounds' as sheet, row_number, 'area_cm2' as field, format('{:g} x {:g} = {:g} cm2', length_cm, width_cm, area_cm2) as value
from incoming_wounds
where
    length_cm is not null and width_cm is not null and area_cm2 is not null
    and (area_method = 'product_lw' or abs(area_cm2 - length_cm * width_cm) < 0.005 * area_cm2)
