-- One row an operation on a cat heavier than a cat can be.

select 'reconstructions' as sheet, operations.row_number, 'body_mass_kg' as field,
    format('{:g} kg for a {}', operations.body_mass_kg, animals.species) as value
from incoming_reconstructions as operations
inner join incoming_animals as animals using (animal)
where animals.species = 'cat' and operations.body_mass_kg > 15
