-- One row a species, method, location and answer: how many cases and animals, at the protocol's own threshold.

select
    species,
    method,
    location,
    status,
    count(*) as cases,
    count(distinct animal) as animals
from take
where is_primary
group by species, method, location, status
