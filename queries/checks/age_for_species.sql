-- One row an animal older than its species commonly grows.

select 'animals' as sheet, row_number, 'age_years' as field, format('{:g} years for a {}', age_years, species) as value
from incoming_animals
inner join species using (species)
where age_years > unusual_age
