-- One row a wound of more than a quarter of the body surface, taken as 0.10 x kg^(2/3) square metres.
-- The coefficient is from memory: it is common practice for both species.

with heaviest as (
    select animal, max(body_mass_kg) as kg
    from incoming_reconstructions
    group by animal
)

select 'wounds' as sheet, wounds.row_number, 'area_cm2' as field, format('{:g} cm2 on {:g} kg', wounds.area_cm2, heaviest.kg) as value
from incoming_wounds as wounds
inner join heaviest using (animal)
where wounds.area_cm2 > 0.25 * 1000 * heaviest.kg ** (2.0 / 3)
