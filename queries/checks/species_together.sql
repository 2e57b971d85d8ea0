-- At most one row: the file holds dogs and cats.

select 'animals' as sheet, null::integer as row_number, 'species' as field,
    format('{} dogs, {} cats', count(*) filter (species = 'dog'), count(*) filter (species = 'cat')) as value
from incoming_animals
having count(*) filter (species = 'dog') > 0 and count(*) filter (species = 'cat') > 0
