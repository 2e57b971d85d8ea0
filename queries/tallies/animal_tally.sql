-- One row a species, number of grafts with a sure answer and number of those that took: how many animals.

select
    species,
    grafts,
    took,
    count(*) as animals
from (
    select
        species,
        animal,
        count(*) as grafts,
        count(*) filter (where status = 'sure_yes') as took
    from take
    where is_primary and status in ('sure_yes', 'sure_no')
    group by species, animal
) as counted
group by species, grafts, took
