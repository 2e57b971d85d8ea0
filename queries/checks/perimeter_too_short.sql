-- One row a perimeter shorter than that of a circle of the stated area, by more than 5 %: no shape has it.

with measured as (
    select 'wounds' as sheet, row_number, 'perimeter_cm' as field, perimeter_cm as perimeter, area_cm2 as area
    from incoming_wounds
    union all
    select 'visits', row_number, 'open_perimeter_cm', open_perimeter_cm, open_area_cm2
    from incoming_visits
)

select sheet, row_number, field,
    format('{:g} cm around {:g} cm2; a circle has {:.1f} cm', perimeter, area, 2 * sqrt(pi() * area)) as value
from measured
where perimeter < 0.95 * 2 * sqrt(pi() * area)
