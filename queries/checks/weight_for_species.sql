-- One row an operation on an animal heavier than its species can be.

select 'reconstructions' as sheet, operations.row_number, 'body_mass_kg' as field,
    format('{:g} kg for a {}', operations.body_mass_kg, animals.species) as value
from incoming_reconstructions as operations
inner join incoming_animals as animals using (animal)
inner join species using (species)
where operations.body_mass_kg > species.heaviest_kg
