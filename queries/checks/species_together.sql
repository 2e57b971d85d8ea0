-- At most one row: the file holds animals of several species.

with counted as (
    select species.place, species.plural, count(*) as animals
    from incoming_animals as animals
    inner join species using (species)
    group by species.place, species.plural
)

select 'animals' as sheet, null::integer as row_number, 'species' as field,
    string_agg(animals || ' ' || plural, ', ' order by place) as value
from counted
having count(*) > 1
